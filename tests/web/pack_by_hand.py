"""A pack written by hand, as a build would leave it: small, quick, and different whenever asked."""

from __future__ import annotations

import hashlib
from pathlib import Path

from studio_server import NAME, TINY_LESSON

from phrasewright.app.manifest import MANIFEST_NAME, Entry, Manifest, Role, program_digest

PAGE = "<!doctype html>\n<html><head><title>Tiny</title>\n</head>\n<body>{}</body></html>\n"
FILES = {
    "index.html": PAGE.format("play " * 2000).encode(),
    "assets/page.css": b"body { color: black }\n",
    "audio/240/band.mp3": bytes(range(256)) * 40,
    "audio/240/long.flac": b"\0\1\2\3" * 1_250_000,
    "words.txt": "Grüße, leise\n".encode(),
}


def write_pack(folder: Path, files: dict[str, bytes] = FILES) -> Path:
    """The pack of the tiny lesson in a folder of lessons."""
    pack = folder / "packs" / NAME
    for name, content in files.items():
        (pack / name).parent.mkdir(parents=True, exist_ok=True)
        (pack / name).write_bytes(content)
    write_manifest(pack, files)
    return pack


def write_manifest(pack: Path, files: dict[str, bytes]) -> None:
    entries = tuple(
        Entry(
            path=name,
            role=Role.AUDIO if name.startswith("audio/") else Role.PAGE,
            sha256=hashlib.sha256(content).hexdigest(),
            size_bytes=len(content),
            stage="all",
        )
        for name, content in files.items()
    )
    manifest = Manifest(
        title="Tiny",
        lesson_sha256=hashlib.sha256(TINY_LESSON.encode()).hexdigest(),
        seed=7,
        program=program_digest(),
        files=entries,
    )
    (pack / MANIFEST_NAME).write_text(manifest.to_json(), encoding="utf-8")

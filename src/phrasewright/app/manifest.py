"""The manifest of a pack: every file with its role, its hash and what made it.

``manifest.json`` is the memory of a build. A *stage* (figures, exchange files, handout, page, audio at one
tempo ...) has a key: a digest of everything that went into it, the program's own files included. A stage whose
key and files are unchanged is not made again.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from importlib import resources
from pathlib import Path

from phrasewright import __version__

MANIFEST_NAME = "manifest.json"
FORMAT = 1
_PROGRAM_SUFFIXES = {".py", ".js", ".css", ".html", ".typ", ".toml", ".json", ".npz", ".ttf", ".otf"}


class Role(StrEnum):
    """What a file of a pack is for."""

    HANDOUT = "handout"
    PAGE = "page"
    FIGURE = "figure"
    EXCHANGE = "exchange"
    AUDIO = "audio"
    WORDS = "words"
    REASONS = "reasons"
    LESSON = "lesson"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One file of the pack. path: relative, with forward slashes; sha256: of its bytes; stage: what made it."""

    path: str
    role: Role
    sha256: str
    size_bytes: int
    stage: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """All files of a pack and the keys of the stages that made them."""

    title: str
    lesson_sha256: str
    seed: int
    version: str = __version__
    program: str = ""
    stages: dict[str, str] = field(default_factory=dict)  # stage name -> key
    files: tuple[Entry, ...] = ()

    def of_stage(self, stage: str) -> tuple[Entry, ...]:
        """The files one stage made."""
        return tuple(entry for entry in self.files if entry.stage == stage)

    def to_json(self) -> str:
        """Stable text: sorted files, two-space indent, final newline."""
        document = {
            "format": FORMAT,
            "title": self.title,
            "made_by": {"program": "phrasewright", "version": self.version, "digest": self.program},
            "lesson_sha256": self.lesson_sha256,
            "seed": self.seed,
            "stages": dict(sorted(self.stages.items())),
            "files": [
                {"path": e.path, "role": e.role.value, "sha256": e.sha256, "bytes": e.size_bytes, "stage": e.stage}
                for e in sorted(self.files, key=lambda entry: entry.path)
            ],
        }
        return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def read_manifest(folder: Path) -> Manifest | None:
    """The manifest of a built pack; None when there is none that this version understands."""
    try:
        document = json.loads((folder / MANIFEST_NAME).read_text(encoding="utf-8"))
        if document["format"] != FORMAT:
            return None
        files = tuple(
            Entry(
                path=row["path"],
                role=Role(row["role"]),
                sha256=row["sha256"],
                size_bytes=row["bytes"],
                stage=row["stage"],
            )
            for row in document["files"]
        )
        return Manifest(
            title=document["title"],
            lesson_sha256=document["lesson_sha256"],
            seed=document["seed"],
            version=document["made_by"]["version"],
            program=document["made_by"]["digest"],
            stages=document["stages"],
            files=files,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None


def digest_of(*values: object) -> str:
    """A key for anything made of frozen values: the SHA-256 of their ``repr``."""
    digest = hashlib.sha256()
    for value in values:
        digest.update(value if isinstance(value, bytes) else repr(value).encode())
        digest.update(b"\0")
    return digest.hexdigest()


def digest_of_file(path: Path) -> str:
    """SHA-256 of a file's bytes."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


@cache
def program_digest() -> str:
    """SHA-256 over the program's own files, so that a changed program rebuilds what it made."""
    root = Path(str(resources.files("phrasewright")))
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.suffix in _PROGRAM_SUFFIXES and "__pycache__" not in path.parts:
            digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()

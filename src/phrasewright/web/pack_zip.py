"""A pack as one ZIP file, made while it is sent: stored, not squeezed, since sound and pictures hardly shrink."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

from phrasewright.app.manifest import MANIFEST_NAME, Manifest
from phrasewright.errors import PhrasewrightError

BLOCK = 1 << 20  # bytes sent at once


class PackChangedError(PhrasewrightError):
    """A pack that was renewed while it was being sent."""


def zip_blocks(
    pack: Path, manifest: Manifest, *, folder: str, made_at: tuple[int, int, int, int, int, int]
) -> Iterator[bytes]:
    """The ZIP file, block by block. folder: that everything lies in; made_at: year to second, of every file.

    Raises PackChangedError when a file is not what the manifest says: the download breaks off, and is not mixed.
    """
    pipe = _Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:
        for entry in manifest.files:
            digest = hashlib.sha256()
            with (
                (pack / entry.path).open("rb") as source,
                archive.open(zipfile.ZipInfo(f"{folder}/{entry.path}", made_at), "w") as member,
            ):
                while block := source.read(BLOCK):
                    digest.update(block)
                    member.write(block)
                    yield pipe.taken()
            if digest.hexdigest() != entry.sha256:
                raise PackChangedError(f"{entry.path} changed while the pack was being sent.")
        archive.writestr(zipfile.ZipInfo(f"{folder}/{MANIFEST_NAME}", made_at), manifest.to_json())
    yield pipe.taken()


class _Pipe(io.RawIOBase):
    """Keeps what is written until it is taken."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []

    def writable(self) -> bool:
        """It is."""
        return True

    def write(self, piece: bytes) -> int:  # type: ignore[override]
        """Keep a piece."""
        self._pieces.append(bytes(piece))
        return len(piece)

    def taken(self) -> bytes:
        """All that was written since the last time."""
        pieces, self._pieces = self._pieces, []
        return b"".join(pieces)

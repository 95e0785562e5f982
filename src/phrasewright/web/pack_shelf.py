"""Packs read for the browser: only what a manifest names, and only when its bytes are what the manifest says.

Small files are kept in memory by their digest, so that a whole class may open a page at once; files that are read
from the disk each time are hashed once for as long as they do not change.
"""

from __future__ import annotations

import gzip
import hashlib
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from threading import Lock
from typing import Annotated

from fastapi import Depends, Request

from phrasewright.app.manifest import MANIFEST_NAME, Entry, Manifest, digest_of_file, read_manifest
from phrasewright.web.answers import RefusedError

PAGE = "index.html"
MEDIA_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".toml": "text/plain; charset=utf-8",
    ".musicxml": "application/vnd.recordare.musicxml+xml",  # IANA media types
    ".mei": "application/xml",
    ".pdf": "application/pdf",
    ".mid": "audio/midi",
    ".flac": "audio/flac",
    ".mp3": "audio/mpeg",
    ".ogg": "audio/ogg",
    ".wav": "audio/wav",
}
SQUEEZED = {".html", ".css", ".js", ".json", ".svg", ".txt", ".toml", ".musicxml", ".mei"}
SMALL_BYTES = 4_000_000  # a file up to here is kept in memory
KEPT_BYTES = 64_000_000  # all files kept, with what is squeezed of them
TRIES, PAUSE_S = 5, 0.05  # while a build moves its files in
NOT_WHOLE = RefusedError("This pack is not whole.", hint="The teacher can hand it out again.", status=503)
_Stamp = tuple[int, int, int]  # file number, time of change in ns, size: tells that a file is another one


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFile:
    """A file of a pack. content: its bytes where it is small; squeezed: the same as gzip where that is worth it."""

    entry: Entry
    path: Path
    content: bytes | None = None
    squeezed: bytes | None = None

    @property
    def media_type(self) -> str:
        """By the end of its name."""
        return MEDIA_TYPES.get(PurePosixPath(self.entry.path).suffix, "application/octet-stream")

    @property
    def etag(self) -> str:
        """Strong: the digest of its bytes."""
        return f'"{self.entry.sha256}"'


@dataclass(slots=True)
class PackShelf:
    """All packs that have been asked for. Safe to share between threads."""

    _manifests: dict[Path, tuple[_Stamp, Manifest | None, dict[str, Entry]]] = field(default_factory=dict)
    _kept: OrderedDict[str, tuple[bytes, bytes | None]] = field(default_factory=OrderedDict)
    _kept_bytes: int = 0
    _verified: dict[Path, tuple[_Stamp, str]] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def manifest(self, pack: Path) -> Manifest | None:
        """The manifest of a pack; None when it is not built."""
        return self._read(pack)[0]

    def kept(self, pack: Path, name: str) -> PackFile | None:
        """A file that is in memory, told at once; None says nothing: ``find`` must be asked."""
        entry = self._read(pack)[1].get(name)
        kept = None if entry is None else self._kept.get(entry.sha256)
        if entry is None or kept is None:
            return None
        return PackFile(entry=entry, path=pack / name, content=kept[0], squeezed=kept[1])

    def find(self, pack: Path, name: str) -> PackFile | None:
        """A file of a pack, None when its manifest names none such. Raises RefusedError when it is not whole."""
        for attempt in range(TRIES):
            entry = self._read(pack)[1].get(name)
            if entry is None:
                return None
            found = self._whole(pack, entry)
            if found is not None:
                return found
            if attempt + 1 < TRIES:
                time.sleep(PAUSE_S)
        raise NOT_WHOLE

    def _read(self, pack: Path) -> tuple[Manifest | None, dict[str, Entry]]:
        stamp = _stamp(pack / MANIFEST_NAME)
        if stamp is None:
            return None, {}
        known = self._manifests.get(pack)
        if known is None or known[0] != stamp:
            manifest = read_manifest(pack)
            entries = {} if manifest is None else {entry.path: entry for entry in manifest.files}
            known = self._manifests[pack] = (stamp, manifest, entries)
        return known[1], known[2]

    def _whole(self, pack: Path, entry: Entry) -> PackFile | None:
        """A file whose bytes are what its entry says; None when they are not."""
        kept = self._kept.get(entry.sha256)
        path = pack / entry.path
        if kept is not None:
            return PackFile(entry=entry, path=path, content=kept[0], squeezed=kept[1])
        try:
            if not path.resolve(strict=True).is_relative_to(pack.resolve(strict=True)):
                return None
            if entry.size_bytes > SMALL_BYTES:
                return PackFile(entry=entry, path=path) if self._digest(path) == entry.sha256 else None
            content = path.read_bytes()
        except OSError:
            return None
        if hashlib.sha256(content).hexdigest() != entry.sha256:
            return None
        squeezed = gzip.compress(content, 6, mtime=0) if path.suffix in SQUEEZED else None
        self._keep(entry.sha256, content, squeezed)
        return PackFile(entry=entry, path=path, content=content, squeezed=squeezed)

    def _digest(self, path: Path) -> str:
        stamp = _stamp(path)
        known = self._verified.get(path)
        if stamp is None or known is None or known[0] != stamp:
            sha256 = digest_of_file(path)
            if stamp is None or _stamp(path) != stamp:
                return ""
            known = self._verified[path] = (stamp, sha256)
        return known[1]

    def _keep(self, sha256: str, content: bytes, squeezed: bytes | None) -> None:
        with self._lock:
            if sha256 not in self._kept:
                self._kept[sha256] = (content, squeezed)
                self._kept_bytes += len(content) + len(squeezed or b"")
            while self._kept_bytes > KEPT_BYTES and len(self._kept) > 1:
                _, (old, old_squeezed) = self._kept.popitem(last=False)
                self._kept_bytes -= len(old) + len(old_squeezed or b"")


def _stamp(path: Path) -> _Stamp | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


async def shelf_of(request: Request) -> PackShelf:
    """The packs of the studio that answers a request."""
    shelf: PackShelf = request.app.state.packs
    return shelf


ThePacks = Annotated[PackShelf, Depends(shelf_of)]

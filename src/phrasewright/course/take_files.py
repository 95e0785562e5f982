"""Where the sound of takes lies, and what was heard in them.

An upload is written to ``.ID.part``, brought to the disk, remembered in the database, and only then renamed to its
name. So a file with a name is whole; a ``.part`` with a row is whole too and gets its name at the next start; a
``.part`` without a row was never acknowledged and goes.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from phrasewright.course.takes import Take
from phrasewright.errors import OutputError

FOLDER = "takes"  # below the studio's home
PART = ".part"


class TakeFiles:
    """The files of all takes of one studio."""

    def __init__(self, home: Path) -> None:
        self.folder = home / FOLDER

    def sound(self, take: Take) -> Path:
        """The recording as it was received."""
        return self.folder / f"{take.id}.{take.kind}"

    def result(self, take_id: str, ending: str) -> Path:
        """What was heard: ``json``, ``html``, ``pdf``, ``view.json``."""
        return self.folder / f"{take_id}.{ending}"

    def receive(self, take_id: str) -> Arriving:
        """An upload to be written. Raises OutputError when the folder cannot be made."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            return Arriving(self._part(take_id))
        except OSError as error:
            raise cannot_keep(error) from error

    def adopt(self, take: Take) -> None:
        """Give a remembered upload its name, if it still has none. Raises OutputError when that cannot be done."""
        try:
            with suppress(FileNotFoundError):
                os.replace(self._part(take.id), self.sound(take))  # noqa: PTH105  (replaces on every system)
        except OSError as error:
            raise cannot_keep(error) from error

    def sweep(self, takes: Iterable[Take]) -> int:
        """After a start: adopt what is remembered, remove what was never acknowledged; returns how many were removed.

        Raises OutputError.
        """
        for take in takes:
            self.adopt(take)
        gone = list(self.folder.glob(f".*{PART}"))
        for path in gone:
            path.unlink(missing_ok=True)
        return len(gone)

    def _part(self, take_id: str) -> Path:
        return self.folder / f".{take_id}{PART}"


class Arriving:
    """An upload being written aside; leaving it without ``keep`` removes what has arrived."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.size_bytes = 0
        self._digest = hashlib.sha256()
        self._kept = False
        self._file: IO[bytes] = path.open("wb")

    @property
    def sha256(self) -> str:
        """Of what has arrived."""
        return self._digest.hexdigest()

    def add(self, piece: bytes) -> None:
        """Write what has come. Raises OutputError."""
        try:
            self._file.write(piece)
        except OSError as error:
            raise cannot_keep(error) from error
        self._digest.update(piece)
        self.size_bytes += len(piece)

    def flush(self) -> None:
        """Let other programs read what has arrived. Raises OutputError."""
        try:
            self._file.flush()
        except OSError as error:
            raise cannot_keep(error) from error

    def finish(self) -> None:
        """Bring all of it to the disk, its name in the folder too. Raises OutputError."""
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
            folder = os.open(self.path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
        except OSError as error:
            raise cannot_keep(error) from error

    def keep(self) -> None:
        """It is remembered: it stays."""
        self._kept = True

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with suppress(OSError):
            self._file.close()
        if not self._kept:
            with suppress(OSError):
                self.path.unlink(missing_ok=True)


def cannot_keep(error: OSError) -> OutputError:
    """Why a take cannot be kept."""
    reason = error.strerror or "the system gave no reason"
    return OutputError(f"The take could not be kept: {reason}.", hint="Tell the teacher; keep the recording.")

"""The files of a folder of lessons, kept in step with their history (``course.history``).

A file holds the last state that can be built. What is about to be written stands in the history before it is written,
so whatever falls in between is made good at the next look. A file that somebody else has changed, added or taken away
is noticed when the lessons are next looked at, and becomes a step like any other.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex
from threading import Lock, RLock

from sqlalchemy import Engine

from phrasewright.app.reading import Reading, read_text
from phrasewright.app.source import MAX_BYTES, source_of
from phrasewright.course import history
from phrasewright.course.history import KnownLesson, Step
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.sound.encode import write_bytes

ENDING = ".toml"
PACKS = "packs"  # the folder of packs below that of the lessons
OUTSIDE = "changed outside the studio"
MADE = "made"
KEPT_READINGS = 24


class NoLessonError(PhrasewrightError):
    """A lesson that is not there."""


def _now() -> datetime:
    return datetime.now(UTC).replace(tzinfo=None)


@dataclass(slots=True, kw_only=True)
class LessonFiles:
    """One folder and its history. lock: held while anything is changed."""

    folder: Path
    engine: Engine
    clock: Callable[[], datetime] = _now
    lock: RLock = field(default_factory=RLock)
    _read: dict[str, Reading] = field(default_factory=dict)
    _reading_lock: Lock = field(default_factory=Lock)
    _places: dict[str, Path] | None = None  # while nothing is made, renamed or removed
    _moves: int = 0  # how often that has happened

    def path(self, name: str) -> Path:
        """The file of a name."""
        return self.folder / f"{name}{ENDING}"

    def places(self) -> dict[str, Path]:
        """The files of all lessons by id, as they are known: not looked at. Waits for nobody who changes a lesson."""
        found, moves = self._places, self._moves
        if found is None:
            found = {id_: self.path(name) for name, id_ in history.names(self.engine).items()}
            if moves == self._moves:
                self._places = found
        return found

    def tidy(self) -> None:
        """Remove what a fall of the power left of files that were being written aside. Not beside another studio."""
        for path in self.folder.glob(f".*{ENDING}.part"):
            path.unlink(missing_ok=True)

    def reading(self, name: str, text: str) -> Reading:
        """Read a text as that of a file; the newest readings are kept."""
        source = source_of(self.path(name), text.encode())
        key = f"{name} {source.sha256}"
        with self._reading_lock:
            known = self._read.pop(key, None)
        reading = known or read_text(source, text)
        with self._reading_lock:
            self._read[key] = reading
            while len(self._read) > KEPT_READINGS:
                del self._read[next(iter(self._read))]
        return reading

    # ---- looking at the files

    def there(self, lesson_id: str) -> KnownLesson:
        """A lesson in step with its file. Raises NoLessonError when it is not there."""
        try:
            known = self._in_step(history.lesson(self.engine, lesson_id))
        except history.UnknownLessonError:
            known = None
        if known is None or known.removed:
            raise NoLessonError(
                "There is no such lesson.", hint="It may have been removed; the list of lessons can undo that."
            )
        return known

    def all_there(self) -> list[KnownLesson]:
        """Every lesson that is there, new files too, each in step with its file."""
        known = [self._in_step(one) for one in history.lessons(self.engine)]
        return [one for one in (*known, *self._new_files()) if not one.removed]

    def _in_step(self, known: KnownLesson) -> KnownLesson:
        """The lesson after a look at its file: an unfinished write is finished, a change from outside is taken over."""
        if known.writing or known.old_name:
            known = self.written(known)
        if known.removed:
            return known
        content = _content(self.path(known.name))
        if content is None:
            return self.place(known.id, name=known.name, removed=True, writing=False)
        sha256 = hashlib.sha256(content).hexdigest()
        if sha256 == known.file_sha256:
            return known
        step = self.step(known.name, _decoded(content), OUTSIDE)
        return history.add_step(
            self.engine, known.id, known.revision, step, at=self.clock(), sha256=sha256, writing=False
        )

    def _new_files(self) -> list[KnownLesson]:
        """Lessons that somebody else has put into the folder."""
        known, found = history.names(self.engine), []
        for path in sorted(self.folder.glob(f"*{ENDING}")):
            content = None if path.stem in known or path.name.startswith(".") else _content(path)
            if content is not None and _is_lesson(content):
                step = self.step(path.stem, _decoded(content), MADE)
                sha256 = hashlib.sha256(content).hexdigest()
                found.append(self.begin(path.stem, step, sha256=sha256, writing=False))
        return found

    # ---- changing them

    def step(self, name: str, text: str, words: str) -> Step:
        """A state to add to a lesson's history, judged."""
        return Step(number=1, text=text, words=words, good=not self.reading(name, text).problems)

    def begin(self, name: str, step: Step, *, sha256: str, writing: bool) -> KnownLesson:
        """Know a new lesson."""
        self._moved()
        return history.begin(self.engine, token_hex(6), name, step, sha256=sha256, at=self.clock(), writing=writing)

    def place(self, lesson_id: str, *, name: str, removed: bool, writing: bool, old_name: str = "") -> KnownLesson:
        """Name a lesson anew, remove it, or bring it back, in its history; ``written`` does it to the files."""
        self._moved()
        return history.set_place(self.engine, lesson_id, name=name, removed=removed, writing=writing, old_name=old_name)

    def written(self, known: KnownLesson) -> KnownLesson:
        """Have the file hold what the history says that it holds, under its name, and take the old one away.

        Raises OutputError when it cannot be written: the history has it, and the next look tries again.
        """
        if not known.writing and not known.old_name:
            return known
        old = self.path(known.old_name) if known.old_name else None
        good = history.good_step(self.engine, known.id, known.head.number)
        if known.writing and good is not None:
            self._write(known.name, good.text)
        elif known.writing and old is not None and old.is_file():
            old.replace(self.path(known.name))  # a file that could never be built is moved as it is
        if old is not None:
            old.unlink(missing_ok=True)
            self._move_pack(known)
        history.file_written(self.engine, known.id, known.file_sha256)
        return history.lesson(self.engine, known.id)

    def _write(self, name: str, text: str) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(
                f"{self.folder} could not be made: {error.strerror}.", hint="Choose another folder."
            ) from error
        write_bytes(self.path(name), text.encode())

    def _move_pack(self, known: KnownLesson) -> None:
        """A renamed lesson keeps its pack."""
        old, new = (self.folder / PACKS / name for name in (known.old_name, known.name))
        if not known.removed and old.is_dir() and not new.exists():
            old.rename(new)

    def _moved(self) -> None:
        self._moves += 1
        self._places = None


def sha256_of(text: str) -> str:
    """The digest of a file that holds a text."""
    return hashlib.sha256(text.encode()).hexdigest()


def _content(path: Path) -> bytes | None:
    """What a file holds; None when it is not there or is no lesson by its size."""
    try:
        return path.read_bytes() if path.is_file() and path.stat().st_size <= MAX_BYTES else None
    except OSError:
        return None


def _decoded(content: bytes) -> str:
    """A text in UTF-8, or else in the alphabet of older Western computers, which knows a letter for every byte."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _is_lesson(content: bytes) -> bool:
    """Whether a file is a lesson rather than a groove: it has a section ``lesson`` or ``scale``."""
    return re.search(rb"^\s*\[?\s*(lesson|scale)\b", content, re.MULTILINE) is not None

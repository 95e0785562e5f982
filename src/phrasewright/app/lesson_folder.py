"""The lessons of one folder, looked at and changed: every change is a step that can be undone, and is in the file.

What the teacher works on is the head of a lesson's history; its file is kept in step (``lesson_files``). What is done
to lessons as a whole stands in ``lesson_moves``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from phrasewright.app.lesson_files import LessonFiles, NoLessonError, sha256_of
from phrasewright.app.reading import Reading
from phrasewright.app.source import MAX_BYTES, source_of
from phrasewright.course import history
from phrasewright.course.history import KnownLesson
from phrasewright.errors import PhrasewrightError
from phrasewright.lesson.edit import Change, change_text

_INSIDE = re.compile(r"(?![/~])[^\\:\x00-\x1f]+")  # no absolute path, drive, or control character


class MovedOnError(PhrasewrightError):
    """A lesson that has been changed elsewhere since it was last seen here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLesson:
    """A lesson with what its text says now."""

    known: KnownLesson
    path: Path
    reading: Reading

    @property
    def saved(self) -> bool:
        """Whether the lesson's file holds what is shown."""
        return self.known.head.good and not self.known.writing


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSummary:
    """A lesson in a list. words: scale, place and length; problems: how many."""

    id: str
    name: str
    title: str
    words: str
    problems: int


@dataclass(slots=True)
class LessonFolder:
    """The lessons of a folder. Safe to share between threads: one change at a time."""

    files: LessonFiles
    _summaries: dict[str, LessonSummary] = field(default_factory=dict)

    # ---- looking

    def summaries(self) -> tuple[LessonSummary, ...]:
        """Every lesson that is there in short, by title; what has not changed since is not read again."""
        with self.files.lock:
            found = [self.summary_of(one) for one in self.files.all_there()]
        return tuple(sorted(found, key=lambda one: (one.title.casefold(), one.name)))

    def summary_of(self, known: KnownLesson) -> LessonSummary:
        """A lesson in short."""
        source = source_of(self.files.path(known.name), known.head.text.encode())
        key = f"{known.id} {source.sha256}"
        if key not in self._summaries:
            reading = self.files.reading(known.name, known.head.text)
            plan = reading.plan
            self._summaries[key] = LessonSummary(
                id=known.id,
                name=known.name,
                title=reading.title or known.name,
                words="" if plan is None else f"{plan.position.name}, {len(plan.lesson.chart.bars)} bars",
                problems=len(reading.problems),
            )
        return replace(self._summaries[key], name=known.name)

    def open(self, lesson_id: str) -> OpenLesson:
        """One lesson. Raises NoLessonError."""
        with self.files.lock:
            return self.opened(self.files.there(lesson_id))

    def opened(self, known: KnownLesson) -> OpenLesson:
        """A lesson that is known, with what it says."""
        reading = self.files.reading(known.name, known.head.text)
        return OpenLesson(known=known, path=self.files.path(known.name), reading=reading)

    def last_good(self, lesson_id: str) -> Reading | None:
        """What the lesson said when it could last be built."""
        known = self.open(lesson_id).known
        step = history.good_step(self.files.engine, lesson_id, known.head.number)
        return None if step is None else self.files.reading(known.name, step.text)

    def check(self, lesson_id: str, changes: Iterable[Change]) -> Reading:
        """What a lesson would say after some changes, which are not made. Raises NoLessonError, LessonError."""
        known = self.open(lesson_id).known
        return self.files.reading(known.name, _near(change_text(known.head.text, changes, file=known.name)))

    def revision_of(self, lesson_id: str) -> int:
        """The revision of a lesson, a change of its file from outside taken in; 0 when it is not there."""
        with self.files.lock:
            try:
                return self.files.there(lesson_id).revision
            except NoLessonError:
                return 0

    # ---- changing

    def change(self, lesson_id: str, revision: int, changes: Iterable[Change], words: str) -> OpenLesson:
        """Change a lesson. words: what is done, for undoing. Raises MovedOnError, NoLessonError, LessonError."""
        with self.files.lock:
            known = self.files.there(lesson_id)
            return self._write_step(known, revision, change_text(known.head.text, changes, file=known.name), words)

    def replace_text(self, lesson_id: str, revision: int, text: str, words: str) -> OpenLesson:
        """Give a lesson another text whole. Raises as ``change``."""
        with self.files.lock:
            return self._write_step(self.files.there(lesson_id), revision, text, words)

    def undo(self, lesson_id: str, revision: int) -> OpenLesson:
        """Go one step back. Raises MovedOnError, NoLessonError; at the first step nothing happens."""
        return self._go(lesson_id, revision, -1)

    def redo(self, lesson_id: str, revision: int) -> OpenLesson:
        """Go forward again. Raises as ``undo``."""
        return self._go(lesson_id, revision, +1)

    def _write_step(self, known: KnownLesson, revision: int, text: str, words: str) -> OpenLesson:
        if text == known.head.text and revision == known.revision:
            return self.opened(known)
        _near(text)
        if len(text.encode()) > MAX_BYTES:
            raise PhrasewrightError("This lesson has become too large.", hint="A lesson is a page or two of text.")
        files = self.files
        step = files.step(known.name, text, words)
        sha256 = sha256_of(text) if step.good else None
        try:
            after = history.add_step(files.engine, known.id, revision, step, at=files.clock(), sha256=sha256)
        except history.StaleError:
            raise _moved_on() from None
        return self.opened(files.written(after))

    def _go(self, lesson_id: str, revision: int, way: int) -> OpenLesson:
        with self.files.lock:
            known = self.files.there(lesson_id)
            if revision == known.revision and not (known.undo if way < 0 else known.redo):
                return self.opened(known)
            number = known.head.number + way
            good = history.good_step(self.files.engine, lesson_id, number)
            sha256 = sha256_of(good.text) if good else None
            try:
                after = history.move_head(self.files.engine, lesson_id, revision, number, sha256=sha256)
            except history.StaleError:
                raise _moved_on() from None
            return self.opened(self.files.written(after))


def _near(text: str) -> str:
    """The text, when all files that it names lie beside the lesson or are installed: a browser may ask for no others.

    Raises PhrasewrightError. Groove and recording are plain names by the file's own rules; a SoundFont may be a path.
    """
    try:
        band = tomllib.loads(text).get("band")
    except (ValueError, RecursionError):
        return text
    font = band.get("soundfont") if isinstance(band, dict) else None
    if isinstance(font, str) and (not _INSIDE.fullmatch(font) or ".." in font.split("/")):
        raise PhrasewrightError(
            f"The SoundFont {font!r} lies elsewhere.",
            hint="Put it into the folder of the lessons, or name one that is installed.",
        )
    return text


def _moved_on() -> MovedOnError:
    return MovedOnError(
        "This lesson has been changed in another window or program.",
        hint="Look at the newer state, then make your change once more; it is kept here.",
    )

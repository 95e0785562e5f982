"""The lessons of one folder: make, copy, rename, remove, change, undo; the files are always whole and can be built.

What the teacher works on is the head of the lesson's history (``course.history``); its file holds the last state that
can be built. A file that somebody else has changed, added or taken away is noticed when the lessons are next looked at,
and becomes a step like any other.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex
from threading import RLock

from sqlalchemy import Engine

from phrasewright.app.reading import Reading, read_text
from phrasewright.app.source import MAX_BYTES, source_of
from phrasewright.course import history, moves
from phrasewright.course.history import KnownLesson, Step
from phrasewright.course.moves import Move, Place
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.lesson.edit import Change, change_text
from phrasewright.sound.encode import write_bytes

ENDING = ".toml"
PACKS = "packs"  # the folder of packs below that of the lessons
LONGEST_NAME = 60
OUTSIDE = "changed outside the studio"
MADE = "made"


class MovedOnError(PhrasewrightError):
    """A lesson that has been changed elsewhere since it was last seen here."""


class NoLessonError(PhrasewrightError):
    """A lesson that is not there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLesson:
    """A lesson with what its text says now; saved: whether the file holds this very text."""

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


def _now() -> datetime:
    return datetime.now(UTC).replace(tzinfo=None)


@dataclass(slots=True, kw_only=True)
class LessonFolder:
    """One folder and its history. Safe to share between threads: one change at a time."""

    folder: Path
    engine: Engine
    clock: Callable[[], datetime] = _now
    _lock: RLock = field(default_factory=RLock)
    _read: dict[str, Reading] = field(default_factory=dict)
    _summaries: dict[str, LessonSummary] = field(default_factory=dict)
    _places: dict[str, Path] | None = None  # while nothing is made, renamed or removed

    def tidy(self) -> None:
        """Remove what a fall of the power left of files that were being written aside. Not beside another studio."""
        for path in self.folder.glob(f".*{ENDING}.part"):
            path.unlink(missing_ok=True)

    # ---- looking

    def all(self) -> tuple[OpenLesson, ...]:
        """Every lesson that is there, by title."""
        with self._lock:
            known = [self._in_step(one) for one in history.lessons(self.engine)]
            known += self._new_files()
            found = [self._opened(one) for one in known if not one.removed]
        return tuple(sorted(found, key=lambda one: (one.reading.title.casefold(), one.known.name)))

    def summaries(self) -> tuple[LessonSummary, ...]:
        """Every lesson that is there in short, by title; what has not changed since is not read again."""
        with self._lock:
            known = [self._in_step(one) for one in history.lessons(self.engine)]
            known += self._new_files()
            found = [self.summary_of(one) for one in known if not one.removed]
        return tuple(sorted(found, key=lambda one: (one.title.casefold(), one.name)))

    def open(self, lesson_id: str) -> OpenLesson:
        """One lesson. Raises NoLessonError."""
        with self._lock:
            return self._opened(self._there(lesson_id))

    def file_of(self, lesson_id: str) -> Path | None:
        """The file of a lesson that is there."""
        try:
            return self._path(self._there(lesson_id).name)
        except NoLessonError:
            return None

    def place_of(self, lesson_id: str) -> Path | None:
        """The file of a lesson, quickly: known by name, not looked at. None when there is no such lesson."""
        return self.places().get(lesson_id)

    def places(self) -> dict[str, Path]:
        """The files of all lessons by id, as they are known: not looked at."""
        with self._lock:
            if self._places is None:
                self._places = {id_: self._path(name) for name, id_ in history.names(self.engine).items()}
            return self._places

    def last_good(self, lesson_id: str) -> Reading | None:
        """What the lesson said when it could last be built."""
        known = self._there(lesson_id)
        step = history.good_step(self.engine, lesson_id, known.head.number)
        return None if step is None else self._reading(known.name, step.text)

    def check(self, lesson_id: str, changes: Iterable[Change]) -> Reading:
        """What a lesson would say after some changes, which are not made. Raises NoLessonError, LessonError."""
        known = self._there(lesson_id)
        return self._reading(known.name, change_text(known.head.text, changes, file=known.name))

    def revision_of(self, lesson_id: str) -> int:
        """The revision of a lesson, a change of its file from outside taken in; 0 when it is not there."""
        with self._lock:
            try:
                return self._there(lesson_id).revision
            except NoLessonError:
                return 0

    # ---- changing one lesson

    def change(self, lesson_id: str, revision: int, changes: Iterable[Change], words: str) -> OpenLesson:
        """Change a lesson. words: what is done, for undoing. Raises MovedOnError, NoLessonError, LessonError."""
        with self._lock:
            known = self._there(lesson_id)
            text = change_text(known.head.text, changes, file=known.name)
            return self._write_step(known, revision, text, words)

    def replace_text(self, lesson_id: str, revision: int, text: str, words: str) -> OpenLesson:
        """Give a lesson another text whole. Raises as ``change``."""
        with self._lock:
            return self._write_step(self._there(lesson_id), revision, text, words)

    def undo(self, lesson_id: str, revision: int) -> OpenLesson:
        """Go one step back. Raises MovedOnError, NoLessonError; at the first step nothing happens."""
        return self._go(lesson_id, revision, -1)

    def redo(self, lesson_id: str, revision: int) -> OpenLesson:
        """Go forward again. Raises as ``undo``."""
        return self._go(lesson_id, revision, +1)

    # ---- the lessons as a whole

    def make(self, title: str, text: str) -> OpenLesson:
        """A new lesson of a text; the move can be undone. Raises OutputError."""
        with self._lock:
            made = self._new(title, text)
            after = Place(name=made.known.name, title=title)
            words = f"made “{title}”"
            moves.add_move(
                self.engine,
                Move(lesson_id=made.known.id, words=words, before=Place(name=None, title=title), after=after),
            )
            return made

    def copy(self, lesson_id: str) -> OpenLesson:
        """A copy of a lesson under a title of its own."""
        with self._lock:
            source = self.open(lesson_id)
            titles = {one.title for one in self.summaries()}
            title = _unused(f"{source.reading.title or source.known.name} (copy)", titles)
            text = change_text(source.known.head.text, [Change(path=("lesson", "title"), value=title)])
            return self.make(title, text)

    def rename(self, lesson_id: str, title: str) -> OpenLesson:
        """Give a lesson another title, and its file the name that goes with it."""
        with self._lock:
            before = self.open(lesson_id)
            self._retitle(before, title, self._unused_name(title, but=before.known.name))
            after = self.open(lesson_id)
            self._moved(f"renamed “{before.reading.title}”", before, after.known.name, title)
            return after

    def remove(self, lesson_id: str) -> None:
        """Take a lesson away; its history stays, so that it can come back."""
        with self._lock:
            before = self.open(lesson_id)
            self._take_away(before.known)
            self._moved(f"removed “{before.reading.title}”", before, None, before.reading.title)

    def undo_move(self) -> str:
        """Undo what was last made, copied, renamed or removed; what it was, "" when there is nothing."""
        with self._lock:
            move = moves.last_move(self.engine)
            if move is None:
                return ""
            self._put(move.lesson_id, move.before)
            moves.mark(self.engine, move, undone=True)
            return move.words

    def redo_move(self) -> str:
        """Do again what was undone last; what it was, "" when there is nothing."""
        with self._lock:
            move = moves.next_move(self.engine)
            if move is None:
                return ""
            self._put(move.lesson_id, move.after)
            moves.mark(self.engine, move, undone=False)
            return move.words

    # ---- how it is done

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}{ENDING}"

    def _there(self, lesson_id: str) -> KnownLesson:
        try:
            known = self._in_step(history.lesson(self.engine, lesson_id))
        except history.UnknownLessonError:
            known = None
        if known is None or known.removed:
            raise NoLessonError(
                "There is no such lesson.", hint="It may have been removed; the list of lessons can undo that."
            )
        return known

    def _opened(self, known: KnownLesson) -> OpenLesson:
        return OpenLesson(known=known, path=self._path(known.name), reading=self._reading(known.name, known.head.text))

    def summary_of(self, known: KnownLesson) -> LessonSummary:
        """A lesson in short."""
        source = source_of(self._path(known.name), known.head.text.encode())
        key = f"{known.id} {source.sha256}"
        if key not in self._summaries:
            reading = self._reading(known.name, known.head.text)
            plan = reading.plan
            self._summaries[key] = LessonSummary(
                id=known.id,
                name=known.name,
                title=reading.title or known.name,
                words="" if plan is None else f"{plan.position.name}, {len(plan.lesson.chart.bars)} bars",
                problems=len(reading.problems),
            )
        return replace(self._summaries[key], name=known.name)

    def _reading(self, name: str, text: str) -> Reading:
        """Read a text; the newest readings are kept."""
        source = source_of(self._path(name), text.encode())
        key = f"{name} {source.sha256}"
        reading = self._read.pop(key, None) or read_text(source, text)
        while len(self._read) >= KEPT_READINGS:
            self._read.pop(next(iter(self._read)), None)
        self._read[key] = reading
        return reading

    def _write_step(self, known: KnownLesson, revision: int, text: str, words: str) -> OpenLesson:
        if text == known.head.text and revision == known.revision:
            return self._opened(known)
        if len(text.encode()) > MAX_BYTES:
            raise PhrasewrightError("This lesson has become too large.", hint="A lesson is a page or two of text.")
        good = not self._reading(known.name, text).problems
        try:
            after = history.add_step(
                self.engine,
                known.id,
                revision,
                Step(number=0, text=text, words=words, good=good),
                at=self.clock(),
                sha256=_sha256(text) if good else None,
            )
        except history.StaleError:
            raise _moved_on() from None
        return self._opened(self._written(after))

    def _go(self, lesson_id: str, revision: int, way: int) -> OpenLesson:
        with self._lock:
            known = self._there(lesson_id)
            if revision == known.revision and not (known.undo if way < 0 else known.redo):
                return self._opened(known)
            number = known.head.number + way
            good = history.good_step(self.engine, lesson_id, number)
            try:
                after = history.move_head(
                    self.engine, lesson_id, revision, number, sha256=_sha256(good.text) if good else None
                )
            except history.StaleError:
                raise _moved_on() from None
            return self._opened(self._written(after))

    def _written(self, known: KnownLesson) -> KnownLesson:
        """Have the file hold what the history says that it holds, under its name, and take the old one away."""
        if not known.writing and not known.old_name:
            return known
        old = self._path(known.old_name) if known.old_name else None
        good = history.good_step(self.engine, known.id, known.head.number)
        if known.writing and good is not None:
            self._write(known.name, good.text)
        elif known.writing and old is not None and old.is_file():
            old.replace(self._path(known.name))  # a file that could never be built is moved as it is
        if old is not None:
            old.unlink(missing_ok=True)
            self._move_pack(known)
        history.file_written(self.engine, known.id, known.file_sha256)
        return history.lesson(self.engine, known.id)

    def _move_pack(self, known: KnownLesson) -> None:
        """A renamed lesson keeps its pack."""
        old, new = (self.folder / PACKS / name for name in (known.old_name, known.name))
        if not known.removed and old.is_dir() and not new.exists():
            old.rename(new)

    def _write(self, name: str, text: str) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(
                f"{self.folder} could not be made: {error.strerror}.", hint="Choose another folder."
            ) from error
        write_bytes(self._path(name), text.encode())

    def _in_step(self, known: KnownLesson) -> KnownLesson:
        """The lesson after a look at its file: an unfinished write is finished, a change from outside is taken over."""
        if known.writing or known.old_name:
            known = self._written(known)
        if known.removed:
            return known
        content = _content(self._path(known.name))
        if content is None:
            return self._set_place(known.id, name=known.name, removed=True, writing=False)
        if hashlib.sha256(content).hexdigest() == known.file_sha256:
            return known
        text = _decoded(content)
        good = not self._reading(known.name, text).problems
        return history.add_step(
            self.engine,
            known.id,
            known.revision,
            Step(number=0, text=text, words=OUTSIDE, good=good),
            at=self.clock(),
            sha256=hashlib.sha256(content).hexdigest(),
            writing=False,
        )

    def _new_files(self) -> list[KnownLesson]:
        """Lessons that somebody else has put into the folder."""
        known, found = history.names(self.engine), []
        for path in sorted(self.folder.glob(f"*{ENDING}")):
            content = None if path.stem in known or path.name.startswith(".") else _content(path)
            if content is not None and _is_lesson(content):
                text = _decoded(content)
                step = Step(number=1, text=text, words=MADE, good=not self._reading(path.stem, text).problems)
                sha256 = hashlib.sha256(content).hexdigest()
                found.append(self._begin(path.stem, step, sha256=sha256, writing=False))
        return found

    def _new(self, title: str, text: str) -> OpenLesson:
        name = self._unused_name(title)
        good = not self._reading(name, text).problems
        step = Step(number=1, text=text, words=MADE, good=good)
        known = self._begin(name, step, sha256=_sha256(text), writing=True)
        return self._opened(self._written(known))

    def _begin(self, name: str, step: Step, *, sha256: str, writing: bool) -> KnownLesson:
        self._places = None
        return history.begin(self.engine, token_hex(6), name, step, sha256=sha256, at=self.clock(), writing=writing)

    def _set_place(self, lesson_id: str, *, name: str, removed: bool, writing: bool, old_name: str = "") -> KnownLesson:
        self._places = None
        return history.set_place(self.engine, lesson_id, name=name, removed=removed, writing=writing, old_name=old_name)

    def _retitle(self, lesson: OpenLesson, title: str, name: str) -> None:
        change = Change(path=("lesson", "title"), value=title)
        known = self.change(lesson.known.id, lesson.known.revision, [change], f"title “{title}”").known
        if name != known.name:
            self._rename_file(known, name)

    def _rename_file(self, known: KnownLesson, name: str) -> None:
        """The row goes first and remembers the old file: a fall between is made good at the next look."""
        old = known.name
        self._written(self._set_place(known.id, name=name, removed=False, writing=True, old_name=old))

    def _take_away(self, known: KnownLesson) -> None:
        self._written(self._set_place(known.id, name=known.name, removed=True, writing=False, old_name=known.name))

    def _put(self, lesson_id: str, place: Place) -> None:
        """Bring a lesson to a place it had: there or not, by name and title."""
        known = history.lesson(self.engine, lesson_id)
        if place.name is None:
            if not known.removed:
                self._take_away(known)
            return
        name = self._unused_name(place.name, but=known.name if not known.removed else None)
        if known.removed:
            self._written(self._set_place(lesson_id, name=name, removed=False, writing=True))
        lesson = self.open(lesson_id)
        if lesson.reading.title != place.title:
            self._retitle(lesson, place.title, name)
        elif lesson.known.name != name:
            self._rename_file(lesson.known, name)

    def _moved(self, words: str, before: OpenLesson, name: str | None, title: str) -> None:
        moves.add_move(
            self.engine,
            Move(
                lesson_id=before.known.id,
                words=words,
                before=Place(name=before.known.name, title=before.reading.title),
                after=Place(name=name, title=title),
            ),
        )

    def _unused_name(self, title: str, *, but: str | None = None) -> str:
        taken = {path.stem for path in self.folder.glob(f"*{ENDING}")} | set(history.names(self.engine))
        return _unused(file_name(title), taken - {but}, joined="-")


KEPT_READINGS = 24


def file_name(title: str) -> str:
    """A file's name for a title: small letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_NAME].strip("-") or "lesson"


def _unused(wish: str, taken: set[str] | set[str | None], *, joined: str = " ") -> str:
    number, found = 1, wish
    while found in taken:
        number += 1
        found = f"{wish}{joined}{number}"
    return found


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


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _moved_on() -> MovedOnError:
    return MovedOnError(
        "This lesson has been changed in another window or program.",
        hint="Look at the newer state, then make your change once more; it is kept here.",
    )

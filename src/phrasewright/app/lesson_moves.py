"""What is done to lessons as a whole: make, copy, rename, remove; each can be undone and done again."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection
from dataclasses import dataclass

from sqlalchemy import Engine

from phrasewright.app.lesson_files import ENDING, MADE, sha256_of
from phrasewright.app.lesson_folder import LessonFolder, OpenLesson
from phrasewright.course import history, moves
from phrasewright.course.history import KnownLesson
from phrasewright.course.moves import Move, Place
from phrasewright.lesson.edit import Change, change_text

LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class LessonMoves:
    """Moves in one folder of lessons."""

    lessons: LessonFolder

    def make(self, title: str, text: str) -> OpenLesson:
        """A new lesson of a text. Raises OutputError."""
        with self.lessons.files.lock:
            made = self._new(title, text)
            before, after = Place(name=None, title=title), Place(name=made.known.name, title=title)
            self._remember(f"made “{title}”", made.known.id, before, after)
            return made

    def copy(self, lesson_id: str) -> OpenLesson:
        """A copy of a lesson under a title of its own. Raises NoLessonError, LessonError."""
        with self.lessons.files.lock:
            source = self.lessons.open(lesson_id)
            titles = {one.title for one in self.lessons.summaries()}
            title = _unused(f"{source.reading.title or source.known.name} (copy)", titles, joined=" ")
            text = change_text(source.known.head.text, [Change(path=("lesson", "title"), value=title)])
            return self.make(title, text)

    def rename(self, lesson_id: str, title: str) -> OpenLesson:
        """Give a lesson another title, and its file the name that goes with it. Raises NoLessonError, LessonError."""
        with self.lessons.files.lock:
            before = self.lessons.open(lesson_id)
            self._retitle(before, title, self._unused_name(title, but=before.known.name))
            after = self.lessons.open(lesson_id)
            words = f"renamed “{before.reading.title}”"
            self._remember(words, lesson_id, _place(before), Place(name=after.known.name, title=title))
            return after

    def remove(self, lesson_id: str) -> None:
        """Take a lesson away; its history stays, so that it can come back. Raises NoLessonError."""
        with self.lessons.files.lock:
            before = self.lessons.open(lesson_id)
            self._take_away(before.known)
            title = before.reading.title
            self._remember(f"removed “{title}”", lesson_id, _place(before), Place(name=None, title=title))

    def undo(self) -> str:
        """Undo what was last made, copied, renamed or removed; what it was, "" when there is nothing."""
        return self._go(moves.last_move, undone=True)

    def redo(self) -> str:
        """Do again what was undone last; what it was, "" when there is nothing."""
        return self._go(moves.next_move, undone=False)

    def _go(self, find: Callable[[Engine], Move | None], *, undone: bool) -> str:
        with self.lessons.files.lock:
            engine = self.lessons.files.engine
            move = find(engine)
            if move is None:
                return ""
            self._put(move.lesson_id, move.before if undone else move.after)
            moves.mark(engine, move, undone=undone)
            return move.words

    def _new(self, title: str, text: str) -> OpenLesson:
        files, name = self.lessons.files, self._unused_name(title)
        known = files.begin(name, files.step(name, text, MADE), sha256=sha256_of(text), writing=True)
        return self.lessons.opened(files.written(known))

    def _remember(self, words: str, lesson_id: str, before: Place, after: Place) -> None:
        move = Move(lesson_id=lesson_id, words=words, before=before, after=after)
        moves.add_move(self.lessons.files.engine, move)

    def _retitle(self, lesson: OpenLesson, title: str, name: str) -> None:
        change = Change(path=("lesson", "title"), value=title)
        known = self.lessons.change(lesson.known.id, lesson.known.revision, [change], f"title “{title}”").known
        if name != known.name:
            self._rename_file(known, name)

    def _rename_file(self, known: KnownLesson, name: str) -> None:
        """The history goes first and remembers the old file: a fall between is made good at the next look."""
        files = self.lessons.files
        files.written(files.place(known.id, name=name, removed=False, writing=True, old_name=known.name))

    def _take_away(self, known: KnownLesson) -> None:
        files = self.lessons.files
        files.written(files.place(known.id, name=known.name, removed=True, writing=False, old_name=known.name))

    def _put(self, lesson_id: str, place: Place) -> None:
        """Bring a lesson to a place it had: there or not, by name and title."""
        files = self.lessons.files
        known = history.lesson(files.engine, lesson_id)
        if place.name is None:
            if not known.removed:
                self._take_away(known)
            return
        name = self._unused_name(place.name, but=known.name if not known.removed else None)
        if known.removed:
            files.written(files.place(lesson_id, name=name, removed=False, writing=True))
        lesson = self.lessons.open(lesson_id)
        if lesson.reading.title != place.title:
            self._retitle(lesson, place.title, name)
        elif lesson.known.name != name:
            self._rename_file(lesson.known, name)

    def _unused_name(self, title: str, *, but: str | None = None) -> str:
        files = self.lessons.files
        there = {path.stem for path in files.folder.glob(f"*{ENDING}")}
        return _unused(file_name(title), (there | set(history.names(files.engine))) - {but}, joined="-")


def file_name(title: str) -> str:
    """A file's name for a title: small letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_NAME].strip("-") or "lesson"


def _place(lesson: OpenLesson) -> Place:
    return Place(name=lesson.known.name, title=lesson.reading.title)


def _unused(wish: str, taken: Collection[str | None], *, joined: str) -> str:
    number, found = 1, wish
    while found in taken:
        number += 1
        found = f"{wish}{joined}{number}"
    return found

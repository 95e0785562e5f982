"""Every state a lesson has had, so that nothing is lost and everything can be undone.

A lesson is known by its id; its file's name may change. Each change adds a *step* with the whole text; the *head* is
the step that holds now. Undoing moves the head back, redoing forward; a change after undoing forgets what was undone.
The file on the disk holds the last step up to the head that is *good*, which the caller judges.

The row says what is about to be written into the file before it is written (``writing``), so that after a fall of the
power the file can be told from one that somebody else has changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    DateTime,
    Engine,
    ForeignKey,
    Integer,
    String,
    Table,
    Text,
    delete,
    insert,
    select,
    update,
)

from phrasewright.course.database import METADATA

LESSONS = Table(
    "lesson",
    METADATA,
    Column("id", String(12), primary_key=True),
    Column("name", String(120), nullable=False),  # of the file, without its ending
    Column("removed", Boolean, nullable=False, default=False),
    Column("head", Integer, nullable=False),
    Column("revision", Integer, nullable=False),  # grows with every change, undo and redo
    Column("file_sha256", String(64), nullable=False),  # of what the file holds, or will when writing is over
    Column("writing", Boolean, nullable=False),
    Column("old_name", String(120), nullable=False, default=""),  # of a file that is still to be taken away
)
STEPS = Table(
    "lesson_step",
    METADATA,
    Column("lesson_id", ForeignKey("lesson.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("text", Text, nullable=False),
    Column("words", String(200), nullable=False),
    Column("good", Boolean, nullable=False),
    Column("at", DateTime, nullable=False),
)


class StaleError(Exception):
    """The lesson has been changed since the revision that a change speaks of."""


class UnknownLessonError(KeyError):
    """There is no lesson with this id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One state of a lesson. words: what was done to come to it; good: whether it can be built."""

    number: int
    text: str
    words: str
    good: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownLesson:
    """A lesson as it stands. steps: how many there are; undo, redo: what would be undone and redone, "" = nothing."""

    id: str
    name: str
    removed: bool
    revision: int
    file_sha256: str
    writing: bool
    old_name: str
    head: Step
    undo: str
    redo: str


def lessons(engine: Engine) -> tuple[KnownLesson, ...]:
    """All lessons, removed ones too, by name."""
    with engine.connect() as connection:
        ids = connection.execute(select(LESSONS.c.id).order_by(LESSONS.c.name, LESSONS.c.id)).scalars().all()
        return tuple(_lesson(connection, id_) for id_ in ids)


def lesson(engine: Engine, lesson_id: str) -> KnownLesson:
    """One lesson. Raises UnknownLessonError."""
    with engine.connect() as connection:
        return _lesson(connection, lesson_id)


def names(engine: Engine) -> dict[str, str]:
    """Id by name, of the lessons that are there."""
    with engine.connect() as connection:
        rows = connection.execute(select(LESSONS.c.name, LESSONS.c.id).where(LESSONS.c.removed.is_(False)))
        return {row.name: row.id for row in rows}


def begin(
    engine: Engine, lesson_id: str, name: str, step: Step, *, sha256: str, at: datetime, writing: bool
) -> KnownLesson:
    """Know a new lesson. sha256: of the file; writing: whether the file is still to be written."""
    with engine.begin() as connection:
        connection.execute(
            insert(LESSONS).values(
                id=lesson_id,
                name=name,
                removed=False,
                head=step.number,
                revision=1,
                file_sha256=sha256,
                writing=writing,
            )
        )
        _insert_step(connection, lesson_id, step, at)
        return _lesson(connection, lesson_id)


def add_step(
    engine: Engine,
    lesson_id: str,
    revision: int,
    step: Step,
    *,
    at: datetime,
    sha256: str | None = None,
    writing: bool = True,
) -> KnownLesson:
    """Put a step after the head, forgetting what was undone; its number is given here.

    sha256: of what the file will hold, None = the file stays as it is. Raises StaleError, UnknownLessonError.
    """
    with engine.begin() as connection:
        known = _claim(connection, lesson_id, revision)
        number = known.head.number + 1
        connection.execute(delete(STEPS).where(STEPS.c.lesson_id == lesson_id, STEPS.c.number >= number))
        _insert_step(connection, lesson_id, step, at, number=number)
        _move(connection, known, number, sha256, writing=writing)
        return _lesson(connection, lesson_id)


def good_step(engine: Engine, lesson_id: str, number: int) -> Step | None:
    """The last good step up to a number; None when there is none."""
    with engine.connect() as connection:
        row = connection.execute(
            select(STEPS)
            .where(STEPS.c.lesson_id == lesson_id, STEPS.c.number <= number, STEPS.c.good)
            .order_by(STEPS.c.number.desc())
            .limit(1)
        ).first()
        return None if row is None else Step(number=row.number, text=row.text, words=row.words, good=row.good)


def move_head(engine: Engine, lesson_id: str, revision: int, number: int, *, sha256: str | None) -> KnownLesson:
    """Make another step the one that holds. Raises StaleError, UnknownLessonError; ValueError when there is none."""
    with engine.begin() as connection:
        known = _claim(connection, lesson_id, revision)
        if _step(connection, lesson_id, number) is None:
            raise ValueError(f"lesson {lesson_id} has no step {number}")
        _move(connection, known, number, sha256, writing=True)
        return _lesson(connection, lesson_id)


def file_written(engine: Engine, lesson_id: str, sha256: str) -> None:
    """The file holds what was to be written, unless something newer is to be written by now."""
    with engine.begin() as connection:
        connection.execute(
            update(LESSONS)
            .where(LESSONS.c.id == lesson_id, LESSONS.c.file_sha256 == sha256)
            .values(writing=False, old_name="")
        )


def set_place(
    engine: Engine, lesson_id: str, *, name: str, removed: bool, writing: bool, old_name: str = ""
) -> KnownLesson:
    """Name the file of a lesson anew, remove the lesson, or bring it back.

    old_name: of the file that is to be taken away. Raises UnknownLessonError.
    """
    with engine.begin() as connection:
        known = _lesson(connection, lesson_id)
        connection.execute(
            update(LESSONS)
            .where(LESSONS.c.id == lesson_id)
            .values(name=name, removed=removed, writing=writing, old_name=old_name, revision=known.revision + 1)
        )
        return _lesson(connection, lesson_id)


def _claim(connection: Connection, lesson_id: str, revision: int) -> KnownLesson:
    """Take the next revision for oneself, which only one of two can. Raises StaleError, UnknownLessonError."""
    taken = connection.execute(
        update(LESSONS).where(LESSONS.c.id == lesson_id, LESSONS.c.revision == revision).values(revision=revision + 1)
    )
    known = _lesson(connection, lesson_id)
    if taken.rowcount != 1:
        raise StaleError(lesson_id)
    return known


def _move(connection: Connection, known: KnownLesson, number: int, sha256: str | None, *, writing: bool) -> None:
    changes: dict[str, object] = {"head": number}
    if sha256 is not None and sha256 != known.file_sha256:
        changes |= {"file_sha256": sha256, "writing": writing}
    connection.execute(update(LESSONS).where(LESSONS.c.id == known.id).values(**changes))


def _insert_step(
    connection: Connection, lesson_id: str, step: Step, at: datetime, *, number: int | None = None
) -> None:
    connection.execute(
        insert(STEPS).values(
            lesson_id=lesson_id,
            number=step.number if number is None else number,
            text=step.text,
            words=step.words,
            good=step.good,
            at=at,
        )
    )


def _lesson(connection: Connection, lesson_id: str) -> KnownLesson:
    row = connection.execute(select(LESSONS).where(LESSONS.c.id == lesson_id)).first()
    if row is None:
        raise UnknownLessonError(lesson_id)
    head = _step(connection, lesson_id, row.head)
    if head is None:
        raise UnknownLessonError(lesson_id)
    before, after = (_step(connection, lesson_id, row.head + way) for way in (-1, 1))
    return KnownLesson(
        id=row.id,
        name=row.name,
        removed=row.removed,
        revision=row.revision,
        file_sha256=row.file_sha256,
        writing=row.writing,
        old_name=row.old_name,
        head=head,
        undo="" if before is None else head.words,
        redo="" if after is None else after.words,
    )


def _step(connection: Connection, lesson_id: str, number: int) -> Step | None:
    row = connection.execute(select(STEPS).where(STEPS.c.lesson_id == lesson_id, STEPS.c.number == number)).first()
    return None if row is None else Step(number=row.number, text=row.text, words=row.words, good=row.good)

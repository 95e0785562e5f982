"""Takes as the studio remembers them: whose, of which lesson, what was to be played, what became of the listening.

The sound lies in a file of its own; a row here says that it was received whole, and its digest says what it must be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from enum import StrEnum

from sqlalchemy import Boolean, Column, Engine, Float, Integer, String, Table, Text, select, update
from sqlalchemy.exc import IntegrityError

from phrasewright.course.asked import Asked, note_asked_in
from phrasewright.course.database import METADATA


class TakeState(StrEnum):
    """How far a take is. failed: it was listened to and could not be heard; its words say why."""

    WAITING = "waiting"
    HEARD = "heard"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One take.

    student_id: empty for the teacher's own. piece: ``study-1``, ``exercise-3``, empty for the player's own line.
    tempo_bpm: tapped, None = one of the lesson's. offset_s: where bar 1 begins, None = told from the take. alone: no
    track is in it. recorded_at, deleted_at: ISO 8601 in UTC, empty = not deleted. kind: of file, ``wav``. sha256,
    size_bytes: of the file as received. words: what was heard, or why nothing was. retry_key: tells a second try of
    one upload, unique.
    """

    id: str
    lesson_id: str
    student_id: str = ""
    piece: str = ""
    tempo_bpm: float | None = None
    offset_s: float | None = None
    alone: bool = False
    recorded_at: str
    seconds: float
    kind: str
    sha256: str
    size_bytes: int
    state: TakeState = TakeState.WAITING
    words: str = ""
    retry_key: str | None = None
    deleted_at: str = ""


TAKES = Table(
    "takes",
    METADATA,
    Column("id", String(12), primary_key=True),
    Column("lesson_id", String(12), nullable=False, index=True),
    Column("student_id", String(12), nullable=False, index=True),
    Column("piece", String(80), nullable=False),
    Column("tempo_bpm", Float),
    Column("offset_s", Float),
    Column("alone", Boolean, nullable=False),
    Column("recorded_at", String(32), nullable=False),
    Column("seconds", Float, nullable=False),
    Column("kind", String(8), nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("size_bytes", Integer, nullable=False),
    Column("state", String(8), nullable=False),
    Column("words", Text, nullable=False),
    Column("retry_key", String(200), unique=True),
    Column("deleted_at", String(32), nullable=False),
)


def add_take(engine: Engine, take: Take, asked: Asked) -> Take:
    """Remember a take and the listening it waits for, both or none.

    Returns the take that is there already when this is a second try of its upload.
    """
    try:
        with engine.begin() as connection:
            connection.execute(TAKES.insert().values(asdict(take)))
            note_asked_in(connection, asked)
    except IntegrityError:
        first = None if take.retry_key is None else take_by_key(engine, take.retry_key)
        if first is None:
            raise
        return first
    return take


def take_by_id(engine: Engine, take_id: str) -> Take | None:
    """A take, deleted or not; None when there is none."""
    return next(_found(engine, TAKES.c.id == take_id), None)


def take_by_key(engine: Engine, retry_key: str) -> Take | None:
    """The take of an upload's first try."""
    return next(_found(engine, TAKES.c.retry_key == retry_key), None)


def takes_of(engine: Engine, lesson_id: str, *, student_id: str | None = None) -> tuple[Take, ...]:
    """The takes of a lesson that are not deleted, newest first. student_id: of one person alone."""
    mine = () if student_id is None else (TAKES.c.student_id == student_id,)
    return tuple(_found(engine, TAKES.c.lesson_id == lesson_id, TAKES.c.deleted_at == "", *mine))


def all_takes(engine: Engine) -> tuple[Take, ...]:
    """Every take, deleted ones too."""
    return tuple(_found(engine))


def set_heard(engine: Engine, take_id: str, state: TakeState, words: str) -> None:
    """Remember what became of a listening."""
    _change(engine, take_id, state=str(state), words=words)


def set_deleted(engine: Engine, take_id: str, deleted_at: str) -> None:
    """Hide a take, or show it again with an empty time."""
    _change(engine, take_id, deleted_at=deleted_at)


def _found(engine: Engine, *wanted: object) -> Iterator[Take]:
    newest_first = (TAKES.c.recorded_at.desc(), TAKES.c.id)
    with engine.connect() as connection:
        rows = connection.execute(select(TAKES).where(*wanted).order_by(*newest_first)).mappings().all()  # type: ignore[arg-type]
    for row in rows:
        yield Take(**{**row, "state": TakeState(row["state"])})


def _change(engine: Engine, take_id: str, **values: object) -> None:
    with engine.begin() as connection:
        connection.execute(update(TAKES).where(TAKES.c.id == take_id).values(**values))

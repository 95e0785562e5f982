"""What was done to the lessons as a whole, made, copied, renamed, removed, so that it can be undone and done again."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Boolean, Column, Engine, ForeignKey, Integer, String, Table, delete, insert, select, update

from phrasewright.course.database import METADATA

MOVES = Table(
    "lesson_move",
    METADATA,
    Column("number", Integer, primary_key=True),
    Column("lesson_id", ForeignKey("lesson.id"), nullable=False),
    Column("words", String(200), nullable=False),
    Column("name_before", String(120)),  # NULL = the lesson was not there
    Column("name_after", String(120)),
    Column("title_before", String(200), nullable=False),
    Column("title_after", String(200), nullable=False),
    Column("undone", Boolean, nullable=False),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a lesson is: the name of its file, None = removed or not made; its title."""

    name: str | None
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One thing done to a lesson as a whole."""

    lesson_id: str
    words: str
    before: Place
    after: Place
    number: int = 0


def add_move(engine: Engine, move: Move) -> None:
    """Remember what was done; what was undone before can no longer be done again."""
    with engine.begin() as connection:
        connection.execute(delete(MOVES).where(MOVES.c.undone))
        connection.execute(
            insert(MOVES).values(
                lesson_id=move.lesson_id,
                words=move.words,
                name_before=move.before.name,
                name_after=move.after.name,
                title_before=move.before.title,
                title_after=move.after.title,
                undone=False,
            )
        )


def last_move(engine: Engine) -> Move | None:
    """What would be undone next."""
    return _one(engine, undone=False)


def next_move(engine: Engine) -> Move | None:
    """What would be done again next."""
    return _one(engine, undone=True)


def mark(engine: Engine, move: Move, *, undone: bool) -> None:
    """Remember that a move was undone, or done again."""
    with engine.begin() as connection:
        connection.execute(update(MOVES).where(MOVES.c.number == move.number).values(undone=undone))


def _one(engine: Engine, *, undone: bool) -> Move | None:
    order = MOVES.c.number.asc() if undone else MOVES.c.number.desc()
    with engine.connect() as connection:
        row = connection.execute(select(MOVES).where(MOVES.c.undone.is_(undone)).order_by(order).limit(1)).first()
    if row is None:
        return None
    return Move(
        number=row.number,
        lesson_id=row.lesson_id,
        words=row.words,
        before=Place(name=row.name_before, title=row.title_before),
        after=Place(name=row.name_after, title=row.title_after),
    )

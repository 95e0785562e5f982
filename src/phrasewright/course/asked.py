"""Work that was asked for and is not done: what is found again when the studio was ended in the middle of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from sqlalchemy import Column, Connection, Engine, Integer, String, Table, delete, select, update

from phrasewright.course.database import METADATA


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One piece of work. kind: ``pack``, ``listen``; subject: id of the lesson or take.

    owner: a student, empty = the teacher; tries: how often it was begun.
    """

    job_id: str
    kind: str
    subject: str
    owner: str = ""
    tries: int = 0


ASKED = Table(
    "asked",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("job_id", String(12), nullable=False, unique=True),
    Column("kind", String(8), nullable=False),
    Column("subject", String(12), nullable=False),
    Column("owner", String(12), nullable=False),
    Column("tries", Integer, nullable=False),
)


def note_asked_in(connection: Connection, asked: Asked) -> None:
    """Remember work within a change of the database that is under way."""
    connection.execute(ASKED.insert().values(asdict(asked)))


def note_asked(engine: Engine, asked: Asked) -> None:
    """Remember work."""
    with engine.begin() as connection:
        note_asked_in(connection, asked)


def note_begun(engine: Engine, job_id: str) -> None:
    """Count one more try."""
    with engine.begin() as connection:
        connection.execute(update(ASKED).where(ASKED.c.job_id == job_id).values(tries=ASKED.c.tries + 1))


def note_done(engine: Engine, job_id: str) -> None:
    """Forget work: it is done, or will not be."""
    with engine.begin() as connection:
        connection.execute(delete(ASKED).where(ASKED.c.job_id == job_id))


def all_asked(engine: Engine) -> tuple[Asked, ...]:
    """What is not done, in the order it was asked for."""
    columns = (ASKED.c.job_id, ASKED.c.kind, ASKED.c.subject, ASKED.c.owner, ASKED.c.tries)
    with engine.connect() as connection:
        rows = connection.execute(select(*columns).order_by(ASKED.c.number)).mappings().all()
    return tuple(Asked(**row) for row in rows)

"""Who has signed in, and until when: sessions end when they lie idle, and in any case after a while.

Only the hash of a session's secret is kept, so a copy of the database opens nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Engine, delete, insert, select, update

from phrasewright.course.people import SESSION, STUDENT
from phrasewright.course.tokens import hash_of, new_secret

TOUCH = timedelta(minutes=5)  # a session's last use is written no more often


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """How long a session lasts. idle: without a request; whole: in any case."""

    idle: timedelta
    whole: timedelta


TEACHER_SPAN = Span(idle=timedelta(hours=8), whole=timedelta(days=7))  # a day of lessons; a week
STUDENT_SPAN = Span(idle=timedelta(days=14), whole=timedelta(days=60))  # a fortnight of holidays; half a term


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """Somebody signed in. student_id, name: empty for the teacher."""

    student_id: str = ""
    name: str = ""


def open_session(engine: Engine, *, student_id: str | None, now: datetime) -> str:
    """The secret of a new session for a student, or for the teacher (None). Sessions that have ended are cleared."""
    secret = new_secret()
    row = {"token_hash": hash_of(secret), "student_id": student_id, "made_at": now, "seen_at": now}
    with engine.begin() as connection:
        for whose, span in (
            (SESSION.c.student_id.is_(None), TEACHER_SPAN),
            (SESSION.c.student_id.is_not(None), STUDENT_SPAN),
        ):
            connection.execute(
                delete(SESSION).where(
                    whose, (SESSION.c.seen_at <= now - span.idle) | (SESSION.c.made_at <= now - span.whole)
                )
            )
        connection.execute(insert(SESSION).values(row))
    return secret


def session_of(engine: Engine, secret: str, *, now: datetime) -> Session | None:
    """The session of that secret, None when it never was or has ended. Its use is noted."""
    key = hash_of(secret)
    query = (
        select(SESSION.c.student_id, SESSION.c.made_at, SESSION.c.seen_at, STUDENT.c.name, STUDENT.c.removed_at)
        .outerjoin_from(SESSION, STUDENT)
        .where(SESSION.c.token_hash == key)
    )
    with engine.connect() as connection:
        row = connection.execute(query).one_or_none()
    if row is None or row.removed_at is not None:
        return None
    span = TEACHER_SPAN if row.student_id is None else STUDENT_SPAN
    if now - row.seen_at >= span.idle or now - row.made_at >= span.whole:
        close_session(engine, secret)
        return None
    if now - row.seen_at >= TOUCH:
        with engine.begin() as connection:
            connection.execute(update(SESSION).where(SESSION.c.token_hash == key).values(seen_at=now))
    return Session(student_id=row.student_id or "", name=row.name or "")


def close_session(engine: Engine, secret: str) -> None:
    """End a session; nothing when it has ended."""
    with engine.begin() as connection:
        connection.execute(delete(SESSION).where(SESSION.c.token_hash == hash_of(secret)))

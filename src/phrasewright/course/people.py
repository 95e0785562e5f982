"""Students of the studio and the links that invite them.

A student who is removed is kept with the moment of it, so that this can be undone; the name is free again meanwhile.
Of a link only a hash is kept: it is shown once, and a new one ends the old one and whoever came in by it.
"""

from __future__ import annotations

import secrets
import unicodedata
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    Column,
    Connection,
    Engine,
    ForeignKey,
    Index,
    Row,
    Select,
    String,
    Table,
    delete,
    insert,
    select,
    update,
)
from sqlalchemy.exc import IntegrityError

from phrasewright.course.database import METADATA
from phrasewright.course.moment import Moment
from phrasewright.course.tokens import hash_of, new_secret
from phrasewright.errors import PhrasewrightError

LONGEST_NAME = 60  # characters

STUDENT = Table(
    "student",
    METADATA,
    Column("id", String(12), primary_key=True),
    Column("name", String(LONGEST_NAME), nullable=False),
    Column("name_key", String, nullable=False),  # the name as it is compared with others
    Column("made_at", Moment, nullable=False),
    Column("removed_at", Moment),
)
_THERE = STUDENT.c.removed_at.is_(None)
Index("student_name", STUDENT.c.name_key, unique=True, sqlite_where=_THERE, postgresql_where=_THERE)

INVITATION = Table(
    "invitation",
    METADATA,
    Column("student_id", ForeignKey("student.id", ondelete="CASCADE"), primary_key=True),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("made_at", Moment, nullable=False),
)
SESSION = Table(
    "session",
    METADATA,
    Column("token_hash", String(64), primary_key=True),
    Column("student_id", ForeignKey("student.id", ondelete="CASCADE")),  # none: the teacher
    Column("made_at", Moment, nullable=False),
    Column("seen_at", Moment, nullable=False),
)


class StudentNameError(PhrasewrightError):
    """A name that this student cannot have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """Somebody who learns. invited_at: when the link that is good now was made, None without one."""

    id: str
    name: str
    made_at: datetime
    removed_at: datetime | None = None
    invited_at: datetime | None = None


def make_student(engine: Engine, name: str, *, now: datetime) -> Student:
    """A new student. Raises StudentNameError on a name that is empty, too long, or another's already."""
    name = _checked(name)
    student = Student(id=secrets.token_hex(6), name=name, made_at=now)
    try:
        with engine.begin() as connection:
            connection.execute(insert(STUDENT).values(id=student.id, name=name, name_key=_key(name), made_at=now))
    except IntegrityError:
        raise _taken(name) from None
    return student


def students(engine: Engine) -> tuple[Student, ...]:
    """Everybody who is not removed, by name."""
    with engine.connect() as connection:
        return tuple(map(_student, connection.execute(_people().where(_THERE).order_by(STUDENT.c.name_key))))


def removed_students(engine: Engine) -> tuple[Student, ...]:
    """Everybody who was removed, the last one first."""
    query = _people().where(~_THERE).order_by(STUDENT.c.removed_at.desc())
    with engine.connect() as connection:
        return tuple(map(_student, connection.execute(query)))


def find_student(engine: Engine, student_id: str) -> Student | None:
    """The student of that id, None when there is none or it is removed."""
    with engine.connect() as connection:
        row = connection.execute(_people().where(_THERE, STUDENT.c.id == student_id)).one_or_none()
    return _student(row) if row else None


def rename_student(engine: Engine, student_id: str, name: str) -> bool:
    """Give a student another name; whether the student was there. Raises StudentNameError as ``make_student``."""
    name = _checked(name)
    change = update(STUDENT).where(_THERE, STUDENT.c.id == student_id).values(name=name, name_key=_key(name))
    try:
        with engine.begin() as connection:
            return connection.execute(change).rowcount > 0
    except IntegrityError:
        raise _taken(name) from None


def remove_student(engine: Engine, student_id: str, *, now: datetime) -> bool:
    """Remove a student and end the student's sessions; whether the student was there."""
    change = update(STUDENT).where(_THERE, STUDENT.c.id == student_id).values(removed_at=now)
    with engine.begin() as connection:
        connection.execute(delete(SESSION).where(SESSION.c.student_id == student_id))
        return connection.execute(change).rowcount > 0


def restore_student(engine: Engine, student_id: str) -> bool:
    """Take a removal back, link and all; whether there was one. Raises StudentNameError when the name is taken now."""
    with engine.connect() as connection:
        name = connection.execute(select(STUDENT.c.name).where(~_THERE, STUDENT.c.id == student_id)).scalar()
    if name is None:
        return False
    try:
        with engine.begin() as connection:
            connection.execute(update(STUDENT).where(STUDENT.c.id == student_id).values(removed_at=None))
    except IntegrityError:
        raise _taken(name) from None
    return True


def invite(engine: Engine, student_id: str, *, now: datetime) -> str | None:
    """The secret of a new link for a student, None when there is no such student. The old link and its sessions end."""
    if find_student(engine, student_id) is None:
        return None
    secret = new_secret()
    with engine.begin() as connection:
        _shut(connection, student_id)
        connection.execute(insert(INVITATION).values(student_id=student_id, token_hash=hash_of(secret), made_at=now))
    return secret


def revoke(engine: Engine, student_id: str) -> bool:
    """End a student's link and sessions; whether there is such a student."""
    if find_student(engine, student_id) is None:
        return False
    with engine.begin() as connection:
        _shut(connection, student_id)
    return True


def invited(engine: Engine, secret: str) -> Student | None:
    """Whom a link is for, None when it is not good (any more). Nothing is used up by asking."""
    query = _people().where(_THERE, INVITATION.c.token_hash == hash_of(secret))
    with engine.connect() as connection:
        row = connection.execute(query).one_or_none()
    return _student(row) if row else None


def _shut(connection: Connection, student_id: str) -> None:
    connection.execute(delete(INVITATION).where(INVITATION.c.student_id == student_id))
    connection.execute(delete(SESSION).where(SESSION.c.student_id == student_id))


def _people() -> Select[Any]:
    columns = (STUDENT.c.id, STUDENT.c.name, STUDENT.c.made_at, STUDENT.c.removed_at)
    return select(*columns, INVITATION.c.made_at.label("invited_at")).outerjoin_from(STUDENT, INVITATION)


def _student(row: Row[Any]) -> Student:
    return Student(**row._mapping)


def _checked(name: str) -> str:
    """The name in its plainest spelling: composed letters, single spaces."""
    if any(unicodedata.category(character) in ("Cs", "Co", "Cn") for character in name):
        raise StudentNameError("This name holds a character that cannot be written down.", hint="Type it anew.")
    name = " ".join(unicodedata.normalize("NFC", name).split())
    if not name or not name.isprintable():
        raise StudentNameError("A student needs a name of plain letters.")
    if len(name) > LONGEST_NAME:
        raise StudentNameError(f"This name has {len(name)} characters; there is room for {LONGEST_NAME}.")
    return name


def _key(name: str) -> str:
    return unicodedata.normalize("NFKC", name).casefold()


def _taken(name: str) -> StudentNameError:
    return StudentNameError(f"There is a student called {name} already.", hint="Add a letter to tell them apart.")

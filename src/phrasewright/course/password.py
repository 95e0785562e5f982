"""The teacher's password: kept as an argon2id hash (RFC 9106), made anew when its parameters have grown."""

from __future__ import annotations

import unicodedata
from datetime import datetime

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY
from sqlalchemy import CheckConstraint, Column, Engine, Integer, String, Table, delete, insert, select, update

from phrasewright.course.database import METADATA
from phrasewright.course.moment import Moment
from phrasewright.course.people import SESSION
from phrasewright.errors import PhrasewrightError

SHORTEST = 10  # characters
LONGEST = 200  # characters

PASSWORD = Table(
    "password",
    METADATA,
    Column("id", Integer, CheckConstraint("id = 1"), primary_key=True),
    Column("hash", String, nullable=False),
    Column("set_at", Moment, nullable=False),
)


class PasswordError(PhrasewrightError):
    """A password that does not protect."""


def strong_hasher() -> PasswordHasher:
    """64 MiB, three passes, four lanes: the second recommendation of RFC 9106, section 4."""
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


def has_password(engine: Engine) -> bool:
    """Whether a password was ever set."""
    return _stored(engine) is not None


def set_password(engine: Engine, password: str, *, hasher: PasswordHasher, now: datetime) -> None:
    """Set the password and end every session. Raises PasswordError when it is too short or too long."""
    password = _spelled(password)
    if len(password) < SHORTEST:
        raise PasswordError(
            f"This password has {len(password)} characters; it needs {SHORTEST}.",
            hint="Four words that do not belong together make a good one.",
        )
    if len(password) > LONGEST:
        raise PasswordError(f"This password has {len(password)} characters; there is room for {LONGEST}.")
    hashed = hasher.hash(password)
    with engine.begin() as connection:
        connection.execute(delete(PASSWORD))
        connection.execute(insert(PASSWORD).values(id=1, hash=hashed, set_at=now))
        connection.execute(delete(SESSION))


def check_password(engine: Engine, password: str, *, hasher: PasswordHasher) -> bool:
    """Whether this is the password. A hash of weaker parameters than the hasher's is made anew."""
    stored = _stored(engine)
    if stored is None or len(password) > LONGEST:
        return False
    password = _spelled(password)
    try:
        hasher.verify(stored, password)
    except (VerificationError, InvalidHashError):
        return False
    if hasher.check_needs_rehash(stored):
        with engine.begin() as connection:
            connection.execute(update(PASSWORD).where(PASSWORD.c.hash == stored).values(hash=hasher.hash(password)))
    return True


def _stored(engine: Engine) -> str | None:
    with engine.connect() as connection:
        return connection.execute(select(PASSWORD.c.hash)).scalar()


def _spelled(password: str) -> str:
    """The same bytes from every keyboard: composed letters (NFC, as RFC 8265 asks of passwords)."""
    return unicodedata.normalize("NFC", password).encode("utf-8", "replace").decode()

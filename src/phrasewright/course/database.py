"""The studio's database: one SQLite file, safe against a fall of the power in the middle of anything.

Tables stand beside what they are for (``people``, ``takes``, ``history``) and share one ``METADATA``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Engine, MetaData, create_engine, event
from sqlalchemy.exc import SQLAlchemyError

from phrasewright.errors import OutputError

METADATA = MetaData()
WAIT_MS = 10_000  # for another program that is writing


def open_database(path: Path) -> Engine:
    """The database in a file, made when it is not there. Raises OutputError when it cannot be opened."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)  # names and takes: for one account
        engine = create_engine(f"sqlite:///{path}")
        event.listen(engine, "connect", _prepare)
        METADATA.create_all(engine)
    except (OSError, SQLAlchemyError) as error:
        raise OutputError(
            f"{path} cannot be opened: {_reason(error)}.",
            hint="Check free space and permissions. A broken file can be moved away: lessons are files of their own.",
        ) from error
    return engine


def _prepare(connection: Any, _: object) -> None:
    """Readers do not wait for the writer, and what is told as saved is on the disk (SQLite manual, WAL mode)."""
    cursor = connection.cursor()
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {WAIT_MS}"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _reason(error: Exception) -> str:
    if isinstance(error, OSError):
        return error.strerror or "the system gave no reason"
    return str(getattr(error, "orig", None) or error)

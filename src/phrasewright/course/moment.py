"""Moments in the database: aware times, written in UTC, so that every computer reads the same moment."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Dialect, String
from sqlalchemy.types import TypeDecorator

LENGTH = len("2026-11-26T15:20:06.000000+00:00")


class Moment(TypeDecorator[datetime]):
    """A column of moments. Text in UTC that sorts as the moments do; a time without a zone is a ValueError."""

    impl = String(LENGTH)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """To the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its zone")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """From the database."""
        return None if value is None else datetime.fromisoformat(value)

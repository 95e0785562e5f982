"""Ids in addresses: twelve lowercase hexadecimal digits, made here, checked before they come near a disk."""

from __future__ import annotations

import secrets
from typing import Annotated

from fastapi import Path

ID = r"^[0-9a-f]{12}$"

LessonId = Annotated[str, Path(pattern=ID, description="Id of a lesson")]
TakeId = Annotated[str, Path(pattern=ID, description="Id of a take")]
JobId = Annotated[str, Path(pattern=ID, description="Id of a job")]


def new_id() -> str:
    """A fresh id: 48 random bits."""
    return secrets.token_hex(6)

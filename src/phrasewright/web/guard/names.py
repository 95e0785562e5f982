"""The names of things in addresses, checked before they come near a disk.

Ids are twelve lowercase hexadecimal digits, made here and by nobody else. A file of a pack is named by its relative
path; ``file_in`` resolves it strictly inside its folder or refuses.
"""

from __future__ import annotations

import re
import secrets
from pathlib import Path as FilePath
from typing import Annotated

from fastapi import Path
from pydantic import AfterValidator

from phrasewright.web.answers import RefusedError

ID = r"^[0-9a-f]{12}$"
LONGEST = 400  # characters of a path; a pack's longest is under 100
LONGEST_PART = 200  # characters between two slashes; file systems end at 255 bytes
_DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)  # files nowhere, on one system
_PART = re.compile(r"[^\x00-\x1f\x7f\\/:*?\"<>|]+")

LessonId = Annotated[str, Path(pattern=ID, description="Id of a lesson")]
TakeId = Annotated[str, Path(pattern=ID, description="Id of a take")]
StudentId = Annotated[str, Path(pattern=ID, description="Id of a student")]
JobId = Annotated[str, Path(pattern=ID, description="Id of a running job")]


def new_id() -> str:
    """A fresh id: 48 random bits in twelve hexadecimal digits."""
    return secrets.token_hex(6)


def relative_path(text: str) -> str:
    """The same path when every part of it is a plain name. Raises ValueError otherwise.

    Refused are absolute paths, ``.``, ``..``, empty parts, backslashes, control characters, drive letters, characters
    that some file system gives a meaning, names of devices, names that end in a dot or space, and over-long ones.
    """
    if not text or len(text) > LONGEST:
        raise ValueError(f"a path has 1 to {LONGEST} characters")
    for part in text.split("/"):
        if len(part.encode("utf-8", "surrogatepass")) > LONGEST_PART or not _PART.fullmatch(part):
            raise ValueError("not the name of a file")
        if part.endswith((".", " ")) or part.startswith(" ") or not part.isprintable() or _DEVICE.fullmatch(part):
            raise ValueError("not the name of a file")
    return text


FileInPack = Annotated[
    str, Path(max_length=LONGEST, description="Relative path of a file in a pack"), AfterValidator(relative_path)
]


def file_in(folder: FilePath, name: str) -> FilePath:
    """The file of that relative path inside a folder, links followed. Raises RefusedError (404) when there is none.

    A link that leads out of the folder leads nowhere.
    """
    missing = RefusedError("There is no such file here.", status=404)
    try:
        root = folder.resolve(strict=True)
        found = (root / relative_path(name)).resolve(strict=True)
    except (OSError, ValueError, RuntimeError):
        raise missing from None
    if not found.is_relative_to(root) or not found.is_file():
        raise missing
    return found

"""A lesson file as read from disk: its text, and a digest that tells whether it has changed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from phrasewright.errors import OutputError

MAX_BYTES = 1_000_000  # a lesson is a page or two of text


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSource:
    """The bytes of a lesson file and where they came from."""

    path: Path
    content: bytes
    sha256: str


def read_source(path: Path) -> LessonSource:
    """Read a lesson file. Raises OutputError when it is not there, not a file, or far too large."""
    try:
        if path.is_dir():
            raise OutputError(f"{path} is a folder, not a lesson file.", hint="Name the .toml file inside it.")
        if path.stat().st_size > MAX_BYTES:
            raise OutputError(
                f"{path} is larger than {MAX_BYTES} bytes; no lesson is.", hint="Check that it is the file you meant."
            )
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise OutputError(
            f"There is no file {path}.", hint=f"Write a starting lesson with: phrasewright new {path}"
        ) from error
    except OSError as error:
        raise OutputError(f"{path} could not be read: {error.strerror}.") from error
    return LessonSource(path=path, content=content, sha256=hashlib.sha256(content).hexdigest())

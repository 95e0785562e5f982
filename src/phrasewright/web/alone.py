"""One studio on a folder at a time: a second one would tidy away what the first is writing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from phrasewright.errors import OutputError

LOCK = "open"  # below the studio's home


@contextmanager
def alone(home: Path) -> Iterator[None]:
    """Hold the studio's home as long as this process lives, however it ends. Raises OutputError when another has it."""
    try:
        import fcntl
    except ImportError:  # not on Windows
        yield
        return
    with (home / LOCK).open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise OutputError(
                f"The studio is open on {home.parent} already.", hint="Use that one, or end it first."
            ) from None
        yield

"""Small text files a person wrote: a chart, a groove, taps, beats."""

from __future__ import annotations

from pathlib import Path

from phrasewright.errors import OutputError, PhrasewrightError


def small_text(path: Path, what: str, largest_bytes: int, error: type[PhrasewrightError]) -> str:
    """The text of a file, a byte order mark left out. what: the word for it in messages, ``file of taps``.

    Raises OutputError when it cannot be read, the error given when it is too large or no text.
    """
    try:
        if path.stat().st_size > largest_bytes:
            raise error(f"{path} is too large for a {what}.", hint="Check that it is the file you meant.")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise error(f"{path} is not text.", hint=f"A {what} is plain text (UTF-8).") from None
    except FileNotFoundError:
        raise OutputError(f"There is no file {path}, so it cannot be read.", hint="Check the name.") from None
    except OSError as failure:
        raise OutputError(f"{path} cannot be read: {failure.strerror}.") from failure

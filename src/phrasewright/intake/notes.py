"""Read the notes of a file by the kind its name tells."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from phrasewright.errors import NoteFileError, OutputError, Problem
from phrasewright.intake.midi import read_midi
from phrasewright.intake.musicxml import read_musicxml
from phrasewright.intake.mxl import read_mxl
from phrasewright.intake.table import read_table
from phrasewright.neck.fingering.line import LineNote

MAX_BYTES = 20_000_000
MAX_NOTES = 100_000  # a day's music; more is a mistake
READERS: dict[str, Callable[[bytes, str], tuple[LineNote, ...]]] = {
    ".csv": read_table,
    ".mid": read_midi,
    ".midi": read_midi,
    ".musicxml": read_musicxml,
    ".xml": read_musicxml,
    ".mxl": read_mxl,
}


def read_notes(path: Path) -> tuple[LineNote, ...]:
    """The notes of a file: a table in its own order, MIDI and MusicXML by onset, then pitch.

    Raises OutputError when the file cannot be read, NoteFileError when it cannot be understood or has no notes.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise _problem(path, "this kind of file is not read", f"Name one of: {', '.join(READERS)}.")
    content = _content(path)
    notes = reader(content, str(path))
    if not notes:
        raise _problem(path, "there are no notes in it", "Check that it is the file you meant.")
    if len(notes) > MAX_NOTES:
        raise _problem(path, f"{len(notes)} notes are more than the {MAX_NOTES} of one file", "Cut it into parts.")
    return notes


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise OutputError(f"{path} is a folder, not a file of notes.", hint="Name the files inside it.")
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise _problem(path, f"{size} bytes are more than the {MAX_BYTES} that are read", "Cut it into parts.")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise OutputError(f"There is no file {path}.", hint="Check the name.") from error
    except OSError as error:
        raise OutputError(f"{path} could not be read: {error.strerror}.") from error


def _problem(path: Path, what: str, hint: str) -> NoteFileError:
    return NoteFileError(str(path), Problem(what=what, hint=hint))

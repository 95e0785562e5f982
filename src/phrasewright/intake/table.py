"""Note tables: CSV with the columns onset_s, duration_s and midi_pitch_float; other columns are left alone."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping

from phrasewright.errors import NoteFileError, Problem
from phrasewright.neck.fingering.line import LineNote

COLUMNS = ("onset_s", "duration_s", "midi_pitch_float")
LONGEST_S = 1e6
_HIGHEST_MIDI = 127


def read_table(content: bytes, file: str) -> tuple[LineNote, ...]:
    """One note a row, in the table's order, pitches rounded to the nearest semitone. Raises NoteFileError."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise NoteFileError(
            file, Problem(what="the table is not UTF-8 text", hint="Save it as CSV, UTF-8.", line=line)
        ) from error
    rows = csv.DictReader(io.StringIO(text, newline=""))
    try:
        names = [name.strip() for name in rows.fieldnames or ()]
        rows.fieldnames = names
        _check_columns(names, file)
        return tuple(_note(row, rows.line_num, file) for row in rows)
    except csv.Error as error:
        raise NoteFileError(
            file, Problem(what=f"the table cannot be read: {error}", hint="Save it as CSV.", line=rows.line_num)
        ) from error


def _check_columns(names: list[str], file: str) -> None:
    missing = [name for name in COLUMNS if name not in names]
    if missing:
        raise NoteFileError(
            file,
            Problem(
                what=f"the table has no column {missing[0]}",
                hint=f"Its first line must name the columns {', '.join(COLUMNS)}.",
                line=1,
            ),
        )


def _note(row: Mapping[str, str | None], line: int, file: str) -> LineNote:
    onset_s = _number(row, "onset_s", -LONGEST_S, LONGEST_S, line, file)
    duration_s = _number(row, "duration_s", 0.0, LONGEST_S, line, file)
    pitch_midi = _number(row, "midi_pitch_float", 0.0, _HIGHEST_MIDI, line, file)
    return LineNote(onset_s=onset_s, duration_s=duration_s, pitch_midi=round(pitch_midi))


def _number(row: Mapping[str, str | None], name: str, low: float, high: float, line: int, file: str) -> float:
    text = (row[name] or "").strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise NoteFileError(
            file,
            Problem(
                what=f"{name} is {text!r}, not a number from {low:g} to {high:g}",
                hint="Write it with digits and a point: 12.5.",
                line=line,
            ),
        )
    return value

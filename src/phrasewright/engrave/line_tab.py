"""Text tablature of a line in free time: no bars, wider gaps for longer waits, fingers (and strokes) under the strings.

     0:00.0
    E|-----------5-
    B|-----5-8-----
    G|-5-7---------
       1 3 1 4  1
       d u d u  d

Frets count from the capo. Under a chord stands no finger: read it in the JSON file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from phrasewright.neck.fingering.line import FingeredNote
from phrasewright.neck.fingering.moments import CHORD_S
from phrasewright.neck.instrument import Instrument

WIDTH = 100
_LONG_WAITS_S = (0.35, 0.7, 1.4)  # each adds a dash


@dataclass(frozen=True, slots=True, kw_only=True)
class _Column:
    """One moment. frets: string and text; under: finger and stroke."""

    onset_s: float
    frets: tuple[tuple[int, str], ...]
    under: tuple[str, str]
    gap: int

    @property
    def width(self) -> int:
        return max(len(text) for _, text in self.frets) + self.gap


def line_tab(onsets_s: Sequence[float], notes: Sequence[FingeredNote], instrument: Instrument) -> str:
    """The tablature, lines of at most ``WIDTH`` signs; onsets in any order, one for each note."""
    names = [str(pitch.name) for pitch in instrument.tuning]
    margin = max(map(len, names))
    systems: list[list[_Column]] = [[]]
    used = 0
    for column in _columns(onsets_s, notes, instrument.capo):
        if systems[-1] and used + column.width > WIDTH - margin - 2:
            systems.append([])
            used = 0
        systems[-1].append(column)
        used += column.width
    return "\n\n".join(_system(system, names, margin) for system in systems if system) + "\n"


def _columns(onsets_s: Sequence[float], notes: Sequence[FingeredNote], capo: int) -> list[_Column]:
    timed = sorted(zip(onsets_s, notes, strict=True), key=lambda pair: pair[0])
    moments: list[list[tuple[float, FingeredNote]]] = []
    for onset_s, note in timed:
        if moments and onset_s - moments[-1][0][0] < CHORD_S:
            moments[-1].append((onset_s, note))
        else:
            moments.append([(onset_s, note)])
    ends = [moment[0][0] for moment in moments[1:]] + [moments[-1][0][0]] if moments else []
    return [_column(moment, end_s - moment[0][0], capo) for moment, end_s in zip(moments, ends, strict=True)]


def _column(moment: Sequence[tuple[float, FingeredNote]], wait_s: float, capo: int) -> _Column:
    notes = [note for _, note in moment]
    pick = notes[0].pick
    return _Column(
        onset_s=moment[0][0],
        frets=tuple((note.place.string, str(note.place.fret - capo)) for note in notes),
        under=(str(notes[0].finger) if len(notes) == 1 else "", "" if pick is None else pick.value[0]),
        gap=1 + sum(wait_s >= long_s for long_s in _LONG_WAITS_S),
    )


def _system(columns: Sequence[_Column], names: Sequence[str], margin: int) -> str:
    rows = [f"{name:>{margin}}|-" for name in names]
    under = [" " * (margin + 2)] * 2
    for column in columns:
        played = dict(column.frets)
        rows = [row + played.get(string, "").ljust(column.width, "-") for string, row in enumerate(rows, 1)]
        under = [line + word.ljust(column.width) for line, word in zip(under, column.under, strict=True)]
    minutes, seconds = divmod(max(columns[0].onset_s, 0.0), 60.0)
    marks = [line.rstrip() for line in under if line.strip()]
    return "\n".join([" " * (margin + 1) + f"{int(minutes)}:{seconds:04.1f}", *rows, *marks])

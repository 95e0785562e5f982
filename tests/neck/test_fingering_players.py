"""The shipped weights against the strings that players chose in 121 annotated solos (GuitarSet, docs/sources.md 4)."""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import LineNote

GUITAR = instrument("guitar")
LEAST_AGREEMENT = 0.75  # 0.762 when the weights were written; solos they were fitted on, so not a forecast


def test_players_choose_the_same_strings(data_dir: Path) -> None:
    """Agreement with the players on the given solos, and the hand travels no further than theirs."""
    same = total = ours = theirs = 0
    for path in sorted((data_dir / "guitarset" / "notes").glob("*.csv")):
        with path.open(newline="") as file:
            rows = list(csv.DictReader(file))
        line = [
            LineNote(
                onset_s=float(row["onset_s"]),
                duration_s=float(row["duration_s"]),
                pitch_midi=round(float(row["midi_pitch_float"])),
            )
            for row in rows
        ]
        strings = [6 - int(row["string"]) for row in rows]
        places = [note.place for note in finger_line(line, GUITAR).notes]
        same += sum(place.string == string for place, string in zip(places, strings, strict=True))
        total += len(line)
        ours += _travel([place.fret for place in places])
        opens = [GUITAR.tuning[string - 1].midi for string in strings]
        theirs += _travel([note.pitch_midi - low for note, low in zip(line, opens, strict=True)])
    assert total > 10_000
    assert same / total >= LEAST_AGREEMENT
    assert ours <= theirs


def _travel(frets: list[int]) -> int:
    return sum(abs(after - before) for before, after in pairwise([fret for fret in frets if fret]))

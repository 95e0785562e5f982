"""The annotated solos of data/guitarset (GuitarSet, Xi et al., ISMIR 2018) as notes heard, with their beats."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from takes import bars

from phrasewright.listen.heard import HeardNote
from phrasewright.score.model import Measure
from phrasewright.score.performance import Performance


@dataclass(frozen=True, kw_only=True)
class Solo:
    """One solo. first_beat_s, beat_s: of its fixed-tempo grid."""

    name: str
    notes: tuple[HeardNote, ...]
    measures: tuple[Measure, ...]
    first_beat_s: float
    beat_s: float

    @property
    def performance(self) -> Performance:
        return Performance(tempo_bpm=60.0 / self.beat_s)


def names(data: Path) -> list[str]:
    return sorted(path.stem for path in (data / "guitarset" / "notes").glob("*.csv"))


def solo(data: Path, name: str) -> Solo:
    """One solo by its name."""
    beats = _rows(data / "guitarset" / "beats" / f"{name}.csv")
    at_s = [float(row["time_s"]) for row in beats]
    in_bar = int(beats[0]["num_beats"])
    notes = [
        HeardNote(
            onset_s=float(row["onset_s"]),
            offset_s=float(row["onset_s"]) + float(row["duration_s"]),
            pitch_midi=float(row["midi_pitch_float"]),
        )
        for row in _rows(data / "guitarset" / "notes" / f"{name}.csv")
    ]
    return Solo(
        name=name,
        notes=tuple(sorted(notes, key=lambda note: note.onset_s)),
        measures=bars(-(-len(beats) // in_bar), f"{in_bar}/{beats[0]['beat_units']}"),
        first_beat_s=at_s[0],
        beat_s=float(np.diff(at_s).mean()),
    )


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))

"""Fifty charts of four families, each with a scale that a teacher would take, and what is measured of studies."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from phrasewright.compose.material import Material
from phrasewright.compose.study import Study
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import choose_shelf
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.search import box
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import PartRole
from phrasewright.theory.chord_symbol import is_no_chord, parse_chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

FOUR = Meter(4, 4)
GUITAR = instrument("guitar")
KEYS = tuple(NoteName.parse(name) for name in ("C", "F", "Bb", "Eb", "Ab", "Db", "F#", "B", "E", "A", "D", "G"))
BLUES = "17 47 17 17 47 47 17 17 57 47 17 57"
FIFTHS = {"1": 0, "2": 2, "3": 4, "4": -1, "5": 1, "6": 3, "b7": -2}
CHORD = re.compile(r"NC|[A-G][b#]?[^A-GN\s|/]*(?:/[A-G][b#]?)?")


def fifty(data_dir: Path) -> Iterator[tuple[str, Material]]:
    """12 blues, 12 vamps, 12 cadences and 14 tunes of the Weimar Jazz Database, as lessons of six motifs."""
    for seed, key in enumerate(KEYS):
        blues = [[degree(key, word[:-1]) + word[-1]] for word in BLUES.split()]
        yield "blues", lesson(key, "blues", blues, Idiom.BLUES, seed=seed)
        vamp = [[f"{key}m7"], [degree(key, "4") + "7"]] * 6
        yield "vamp", lesson(key, "minor-pentatonic", vamp, Idiom.JAZZ, seed=seed)
        cadence = [[degree(key, "2") + "m7"], [degree(key, "5") + "7"], [f"{key}maj7"], [f"{key}maj7"]] * 3
        yield "cadence", lesson(key, "major", cadence, Idiom.JAZZ, largest_step=1 + seed % 2, seed=seed)
    yield from tunes(data_dir, 14)


def degree(key: NoteName, name: str) -> str:
    """A degree of a major key, spelled."""
    return str(NoteName.at_fifths(key.fifths + FIFTHS[name]))


def tunes(data_dir: Path, how_many: int) -> Iterator[tuple[str, Material]]:
    """The first tunes in 4/4 and a major or minor key, each with its first 32 bars at most."""
    rows = csv.DictReader(io.StringIO((data_dir / "wjazzd" / "solos.csv").read_text(encoding="utf-8")))
    found: dict[str, Material] = {}
    for row in rows:
        root, _, mode = row["key"].partition("-")
        if row["title"] in found or row["signature"] != "4/4" or mode not in ("maj", "min"):
            continue
        bars = [
            bar for line in row["chord_changes"].splitlines() for bar in line.partition(":")[2].strip("| ").split("|")
        ]
        chords = [CHORD.findall(bar) for bar in bars][:32]
        if not chords or not chords[0] or any(len(bar) not in (0, 1, 2, 4) for bar in chords):
            continue
        kind = "major" if mode == "maj" else "dorian"
        found[row["title"]] = lesson(
            NoteName.parse(root), kind, chords, Idiom.JAZZ, largest_step=1 + len(found) % 2, seed=len(found)
        )
        if len(found) == how_many:
            break
    return iter([("tune", material) for material in found.values()])


def lesson(
    root: NoteName, kind: str, chords: Iterable[list[str]], idiom: Idiom, *, largest_step: int = 1, seed: int
) -> Material:
    """Six motifs of three and four notes in a box, over a chord for each word; no word = the bar before again."""
    bars: list[ChartBar] = []
    for words in chords:
        if not words:
            bars.append(bars[-1])
            continue
        length = FOUR.bar / len(words)
        bars.append(
            ChartBar(chords=tuple((None if is_no_chord(word) else parse_chord(word), length) for word in words))
        )
    chart = Chart(meter=FOUR, bars=tuple(bars))
    position = box(Scale(root, SCALE_KINDS[kind]), GUITAR)
    shelf = choose_shelf(
        position, sizes=(3, 4), how_many=6, chords=chart.chords, idiom=idiom, largest_step=largest_step, seed=seed
    )
    return Material(shelf=shelf, chart=chart, space=Fraction(2, 5), idiom=idiom, seed=seed)


@dataclass
class Measured:
    """Counts over studies: intervals of the whole line, turns after leaps, and landings."""

    intervals: Counter[int] = field(default_factory=Counter)
    turned: Counter[str] = field(default_factory=Counter)
    leaps: Counter[str] = field(default_factory=Counter)
    landings: Counter[bool] = field(default_factory=Counter)

    def add(self, study: Study) -> None:
        """Count one study."""
        line = [note.pitch.midi for note in study.score.part(PartRole.LEAD).notes]
        moves = [b - a for a, b in pairwise(line)]
        self.intervals.update(map(abs, moves))
        for move, after in pairwise(moves):
            size = _size(abs(move))
            if size and after:
                self.leaps[size] += 1
                self.turned[size] += (move > 0) != (after > 0)
        fits = [placed.reason.fit for placed in study.phrases if placed.reason.fit is not None]
        self.landings.update(fit.landing.role.is_chord_tone for fit in fits)

    def share(self, low: int, high: int) -> float:
        """Per cent of intervals of low..high semitones."""
        return 100 * sum(self.intervals[size] for size in range(low, high + 1)) / self.intervals.total()

    def turns(self, size: str) -> float:
        """Per cent of moves of a size that the next move turns back."""
        return 100 * self.turned[size] / max(self.leaps[size], 1)

    @property
    def landed(self) -> float:
        """Per cent of phrases that end on a chord tone."""
        return 100 * self.landings[True] / self.landings.total()


def _size(semitones: int) -> str:
    return "" if not semitones else "step" if semitones <= 2 else "third" if semitones <= 4 else "leap"

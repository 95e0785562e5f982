"""Long charts laid from the distinct chord changes of the Weimar Jazz Database, for every meter."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_optional_chord
from phrasewright.theory.meter import Meter

_CHORD = re.compile(r"NC|[A-G][b#]?[^A-GN\s|/]*(?:/[A-G][b#]?)?")


def tunes(data_dir: Path) -> list[list[str]]:
    """The chords of each of the 456 tunes, in order."""
    text = (data_dir / "wjazzd" / "solos.csv").read_text(encoding="utf-8")
    lines = [
        [line.partition(":")[2] for line in row["chord_changes"].splitlines()]
        for row in csv.DictReader(io.StringIO(text))
    ]
    return [[word for line in tune for word in _CHORD.findall(line)] for tune in lines]


def distinct_chords(data_dir: Path) -> list[Chord]:
    """Every chord of the tunes once, in the order of its first coming."""
    words = dict.fromkeys(word for tune in tunes(data_dir) for word in tune)
    return [chord for chord in map(parse_optional_chord, words) if chord is not None]


def chains(data_dir: Path, most: int) -> list[list[Chord]]:
    """The first tunes' chords without silences and repeats, each a chain as voices must follow it."""
    found = []
    for tune in tunes(data_dir)[:most]:
        chords = [chord for chord in map(parse_optional_chord, tune) if chord is not None]
        found.append(chords[:1] + [after for before, after in pairwise(chords) if after != before])
    return [chain for chain in found if len(chain) > 1]


def laid(chords: Sequence[Chord], meter: Meter) -> tuple[Measure, ...]:
    """The chords over bars in turn of one and of two chords, the second halfway through or on the second group."""
    bars: list[ChartBar] = []
    waiting = list(chords)
    while waiting:
        cut = sum(meter.groups[: (len(meter.groups) + 1) // 2], Fraction(0))
        shares = (meter.bar,) if len(bars) % 2 == 0 or len(waiting) == 1 else (cut, meter.bar - cut)
        bars.append(ChartBar(chords=tuple((waiting.pop(0), share) for share in shares)))
    return Chart(meter=meter, bars=tuple(bars)).unfold(len(bars))

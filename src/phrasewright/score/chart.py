"""A chart: bars with chord symbols, meter, sections and repeats, as a musician writes it down.

A chart is the written form; ``unfold`` gives the bars as they sound, chorus after chorus.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from phrasewright.score.model import ChordSpan, Measure
from phrasewright.theory.chord import Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

MOST_FIFTHS = 9  # from B double flat to D sharp


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartBar:
    """One written bar. chords: each with its length in quarter notes, filling the bar; None = no chord."""

    chords: tuple[tuple[Chord | None, Fraction], ...]
    section: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One chorus of a tune as written."""

    meter: Meter
    bars: tuple[ChartBar, ...]

    def __post_init__(self) -> None:
        if not self.bars:
            raise ValueError("a chart needs at least one bar")
        for number, bar in enumerate(self.bars, start=1):
            if sum((length for _, length in bar.chords), Fraction(0)) != self.meter.bar:
                raise ValueError(f"the chords of bar {number} do not fill a bar of {self.meter}")

    @property
    def chords(self) -> tuple[Chord, ...]:
        """Distinct chords in order of first appearance."""
        return tuple(dict.fromkeys(chord for bar in self.bars for chord, _ in bar.chords if chord is not None))

    def moved(self, fifths: int) -> Chart:
        """The chart in another key: so many fifths up, a fourth up is -1. Roots lie within ``MOST_FIFTHS`` of C."""

        def name(root: NoteName) -> NoteName:
            there = root.fifths + fifths
            return NoteName.at_fifths(there if abs(there) <= MOST_FIFTHS else (there + 6) % 12 - 6)

        def chord(one: Chord | None) -> Chord | None:
            return None if one is None else replace(one, root=name(one.root), bass=one.bass and name(one.bass))

        bars = (replace(bar, chords=tuple((chord(one), length) for one, length in bar.chords)) for bar in self.bars)
        return replace(self, bars=tuple(bars))

    def unfold(self, bars: int) -> tuple[Measure, ...]:
        """The first ``bars`` bars as they sound, the chorus repeating as often as needed."""
        measures = []
        for index in range(bars):
            written = self.bars[index % len(self.bars)]
            start = index * self.meter.bar
            spans, at = [], start
            for chord, length in written.chords:
                spans.append(ChordSpan(onset=at, duration=length, chord=chord))
                at += length
            measures.append(
                Measure(number=index + 1, onset=start, meter=self.meter, chords=tuple(spans), section=written.section)
            )
        return tuple(measures)

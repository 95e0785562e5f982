"""What an exercise or study is made from: position, shelf, chart, counts, space, seed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil

from phrasewright.compose.counts import CountsBySize, complete_counts
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import Shelf
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.theory.chord import Chord
from phrasewright.theory.count import Count
from phrasewright.theory.meter import Meter

LARGEST_SPACE = Fraction(9, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """counts: by motif size, sizes left out get plain ones; space: least share of silence, 0..0.9; voice: what the
    lead plays on.

    Raises ValueError for a count of another meter or size, or space out of range.
    """

    shelf: Shelf
    chart: Chart
    counts: CountsBySize = field(default_factory=dict, hash=False)  # a mapping; compared, but not hashed
    space: Fraction = Fraction(2, 5)
    idiom: Idiom = Idiom.JAZZ
    seed: int = 0
    voice: LeadVoice = LeadVoice.GUITAR

    def __post_init__(self) -> None:
        if not 0 <= self.space <= LARGEST_SPACE:
            raise ValueError(f"space must lie in 0..{float(LARGEST_SPACE)}, got {float(self.space)}")
        object.__setattr__(self, "counts", complete_counts(self.counts, self.chart.meter))

    @property
    def position(self) -> Position:
        """The position all motifs lie in."""
        return self.shelf.position

    @property
    def meter(self) -> Meter:
        """The chart's meter."""
        return self.chart.meter

    def length(self, bar: int, bars: int) -> Fraction:
        """Quarter notes that some bars of the chart last, chorus after chorus. bar: the first, from 0."""
        return self.chart.onset(bar + bars) - self.chart.onset(bar)

    def even(self) -> Material:
        """The same over the chart's bars in its own meter alone."""
        return replace(self, chart=self.chart.even())

    def counts_for(self, motif: Motif) -> tuple[Count, ...]:
        """The counts that fit a motif, at least one."""
        return self.counts[len(motif.steps)]

    def spaced(self, motif: Motif, count: Count, *, least_rest_bars: int = 0) -> Phrase:
        """A phrase with as many rest bars as the wanted space needs, and at least ``least_rest_bars``."""
        return Phrase(motif, count, max(least_rest_bars, self.rest_bars(count.sounding, count.bars)))

    def rest_bars(self, sounding: Fraction, bars: int) -> int:
        """Rest bars that ``sounding`` quarter notes within ``bars`` bars need to leave enough space."""
        return max(0, ceil(sounding / ((1 - self.space) * self.meter.bar)) - bars)

    def chord_at(self, time: Fraction) -> Chord | None:
        """The chord at a time in quarter notes, chorus after chorus."""
        bar, within = self.chart.bar_at(time)
        for chord, length in bar.chords:
            if within < length:
                return chord
            within -= length
        return None

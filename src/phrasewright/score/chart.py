"""A chart: bars with chord symbols, meters, sections, stops and changes of tempo, as a musician writes it down.

A chart is the written form. What goes round, chorus after chorus, is ``unfold``; what is played once, from the pick-up
to the coda, is ``whole``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import accumulate, cycle, islice

from phrasewright.score.model import ChordSpan, Measure
from phrasewright.theory.chord import Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

MOST_FIFTHS = 9  # from B double flat to D sharp


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartBar:
    """One written bar. chords: each with its length in quarter notes, filling the bar; None = no chord.

    meter: None = the chart's; stops: which chords, from 0, the band strikes short before it is silent; pace: of the
    tempo, in this bar; slows: a ritardando through it; to_coda: the last time, the coda follows.
    """

    chords: tuple[tuple[Chord | None, Fraction], ...]
    section: str = ""
    meter: Meter | None = None
    stops: frozenset[int] = frozenset()
    pace: Fraction = Fraction(1)
    slows: bool = False
    to_coda: bool = False

    @property
    def length(self) -> Fraction:
        """Quarter notes it lasts."""
        return sum((length for _, length in self.chords), Fraction(0))


@dataclass(frozen=True, kw_only=True)
class Chart:
    """A tune as written. bars: one chorus; pickup: a short bar before the first chorus; coda: bars after the last one.

    meter: of every bar that has none of its own.
    """

    meter: Meter
    bars: tuple[ChartBar, ...]
    pickup: ChartBar | None = None
    coda: tuple[ChartBar, ...] = ()

    def __post_init__(self) -> None:
        if not self.bars:
            raise ValueError("a chart needs at least one bar")
        for number, bar in enumerate((*self.bars, *self.coda), start=1):
            if bar.length != self.meter_of(bar).bar:
                raise ValueError(f"the chords of bar {number} do not fill a bar of {self.meter_of(bar)}")
        if self.pickup is not None and not 0 < self.pickup.length < self.meter.bar:
            raise ValueError(f"a pick-up is shorter than a bar of {self.meter}")

    def meter_of(self, bar: ChartBar) -> Meter:
        """The meter of one of its bars."""
        return self.meter if bar.meter is None else bar.meter

    @property
    def meters(self) -> tuple[Meter, ...]:
        """All meters of the chorus and the coda, its own first."""
        return tuple(dict.fromkeys((self.meter, *(self.meter_of(bar) for bar in (*self.bars, *self.coda)))))

    @property
    def chords(self) -> tuple[Chord, ...]:
        """Distinct chords in order of first appearance."""
        written = (*self.bars, *self.coda, *([self.pickup] if self.pickup else []))
        return tuple(dict.fromkeys(chord for bar in written for chord, _ in bar.chords if chord is not None))

    @cached_property
    def _lines(self) -> tuple[Fraction, ...]:
        """The bar lines of one chorus, its end included: asked for at every note that is weighed."""
        return tuple(accumulate((bar.length for bar in self.bars), initial=Fraction(0)))

    @property
    def length(self) -> Fraction:
        """Quarter notes in one chorus."""
        return self._lines[-1]

    def onset(self, bar: int) -> Fraction:
        """Where a bar begins, from 0, in quarter notes from the first bar line; chorus after chorus."""
        choruses, within = divmod(bar, len(self.bars))
        return choruses * self.length + self._lines[within]

    @property
    def _last_round(self) -> int:
        """How many bars the last chorus has: up to where it leaves for the coda."""
        leaving = (number for number, bar in enumerate(self.bars, start=1) if bar.to_coda and self.coda)
        return max(leaving, default=len(self.bars))

    def bars_in(self, choruses: int) -> int:
        """How many bars are played in so many choruses: pick-up and coda left out."""
        return (choruses - 1) * len(self.bars) + self._last_round

    def bar_at(self, time: Fraction) -> tuple[ChartBar, Fraction]:
        """The bar that holds at a time in quarter notes, chorus after chorus, and how far into it that is."""
        within = time % self.length
        index = bisect_right(self._lines, within) - 1
        return self.bars[index], within - self._lines[index]

    @property
    def even_numbers(self) -> tuple[int, ...]:
        """Numbers of the bars in its own meter, from 1."""
        return tuple(number for number, bar in enumerate(self.bars, start=1) if self.meter_of(bar) == self.meter)

    def even(self) -> Chart:
        """The bars of its own meter alone, all at one tempo: what exercises go over."""
        bars = (self.bars[number - 1] for number in self.even_numbers)
        return Chart(meter=self.meter, bars=tuple(replace(bar, pace=Fraction(1), slows=False) for bar in bars))

    def moved(self, fifths: int) -> Chart:
        """The chart in another key: so many fifths up, a fourth up is -1. Roots lie within ``MOST_FIFTHS`` of C."""

        def name(root: NoteName) -> NoteName:
            there = root.fifths + fifths
            return NoteName.at_fifths(there if abs(there) <= MOST_FIFTHS else (there + 6) % 12 - 6)

        def chord(one: Chord | None) -> Chord | None:
            return None if one is None else replace(one, root=name(one.root), bass=one.bass and name(one.bass))

        def moved(bar: ChartBar) -> ChartBar:
            return replace(bar, chords=tuple((chord(one), length) for one, length in bar.chords))

        return replace(
            self,
            bars=tuple(moved(bar) for bar in self.bars),
            pickup=self.pickup and moved(self.pickup),
            coda=tuple(moved(bar) for bar in self.coda),
        )

    def unfold(self, bars: int) -> tuple[Measure, ...]:
        """The first ``bars`` bars as they go round: no pick-up, no coda, the chorus as often as needed."""
        return tuple(self._measures(islice(cycle(self.bars), bars)))

    def whole(self, choruses: int) -> tuple[Measure, ...]:
        """Everything as it is played once: pick-up, choruses, and the coda after the last or from inside it."""
        last = self.bars[: self._last_round]
        pickup = self.pickup and replace(self.pickup, pace=self.bars[0].pace)
        return tuple(self._measures((*self.bars * (choruses - 1), *last, *self.coda), pickup))

    def _measures(self, bars: Iterable[ChartBar], pickup: ChartBar | None = None) -> Iterator[Measure]:
        """Bars as they sound, from 0; a pick-up has the number 0."""
        at = Fraction(0)
        numbered = enumerate(bars, start=1) if pickup is None else enumerate((pickup, *bars))
        for number, written in numbered:
            yield self._measure(written, number, at)
            at += written.length

    def _measure(self, written: ChartBar, number: int, at: Fraction) -> Measure:
        spans, onset = [], at
        for index, (chord, length) in enumerate(written.chords):
            spans.append(ChordSpan(onset=onset, duration=length, chord=chord, stop=index in written.stops))
            onset += length
        return Measure(
            number=number,
            onset=at,
            meter=self.meter_of(written),
            chords=tuple(spans),
            section=written.section,
            pace=written.pace,
            slows=written.slows,
        )

"""Written times as a player says them: bar, beat, count word, chord; also before the first bar and after the last.

A bar that does not stand in the score continues its numbers: the one before bar 1 is 0, the one after bar 12 is 13. It
has the meter of its neighbour and no chord.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.melody.count_words import SYLLABLES
from phrasewright.score.model import Measure
from phrasewright.theory.chord import Chord
from phrasewright.theory.meter import Meter


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A written time as it is said. beat: 1-based, in units of the meter; word: its number where it is whole."""

    bar: int
    beat: float
    word: str
    chord: Chord | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One counted unit of a bar: where it begins and how long it is, in quarter notes."""

    start: Fraction
    length: Fraction


def spot_of(time: Fraction, measures: Sequence[Measure]) -> Spot:
    """How a written time, in quarter notes, is said; it lies on a quarter or a third of a unit."""
    number, onset, meter, measure = _bar_at(time, measures)
    unit, part = divmod((time - onset) / meter.unit, 1)
    spans = measure.chords if measure else ()
    return Spot(
        bar=number,
        beat=float(unit + part) + 1.0,
        word=SYLLABLES[part] if part else str(unit + 1),
        chord=next((span.chord for span in reversed(spans) if span.onset <= time), None),
    )


def units_between(start: Fraction, end: Fraction, measures: Sequence[Measure]) -> Iterator[Unit]:
    """The counted units from the one that holds ``start`` to the one that holds ``end``."""
    time = start
    while time <= end:
        _, onset, meter, measure = _bar_at(time, measures)
        first = onset + (time - onset) // meter.unit * meter.unit
        bar_end = measure.end if measure else onset + meter.bar
        length = min(meter.unit, bar_end - first)
        yield Unit(start=first, length=length)
        time = first + length


def _bar_at(time: Fraction, measures: Sequence[Measure]) -> tuple[int, Fraction, Meter, Measure | None]:
    """Number, onset and meter of the bar at a time, and the bar itself where it stands in the score."""
    first, last = measures[0], measures[-1]
    if time < first.onset:
        before = -((time - first.onset) // first.meter.bar)
        return first.number - int(before), first.onset - before * first.meter.bar, first.meter, None
    if time >= last.end:
        after = (time - last.end) // last.meter.bar
        return last.number + 1 + int(after), last.end + after * last.meter.bar, last.meter, None
    measure = measures[bisect_right(measures, time, key=lambda bar: bar.onset) - 1]
    return measure.number, measure.onset, measure.meter, measure

"""Where a chorus breathes: phrases, sections, fills, and which variation each bar plays.

Phrases are four bars long from each section's start. Without named sections the form is the shortest stretch of at
least four bars that the chords repeat. A slight fill may close a phrase, a full one closes eight or twelve bars or a
section (common practice). All choice comes from the random generator, all timing from the bars.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from random import Random

from phrasewright.score.model import Measure

PHRASE_BARS = 4
SLIGHT_FILL_SHARE = 0.7  # of the phrase ends inside a section; the rest stay plain, so that fills keep their meaning

EVEN_INTENSITY = 0.75  # as loud as the patterns are written


class Ending(StrEnum):
    """What the last bar does."""

    LOOP = "loop"  # leads back to the first bar
    FINAL = "final"  # one last held chord


class FillSize(StrEnum):
    """How much the drums fill at the end of a bar."""

    NONE = "none"
    SLIGHT = "slight"
    FULL = "full"


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPlan:
    """What one bar plays. bass, chords: which variation (taken modulo their number); fresh: a section begins;
    pickup: a short bar before the first one.

    intensity, level: how hard it is played, 0..1, and how hard its part begins; spared: the drum beat that this track
    goes without, where there are three or more (see ``intensity``).
    """

    measure: Measure
    bass: int
    chords: int
    fill: FillSize = FillSize.NONE
    fresh: bool = False
    final: bool = False
    pickup: bool = False
    intensity: float = EVEN_INTENSITY
    level: float = EVEN_INTENSITY
    spared: int = 0


def plan_bars(measures: Sequence[Measure], *, rng: Random, ending: Ending) -> tuple[BarPlan, ...]:
    """One plan a bar, in order. The same generator state gives the same plans."""
    if measures[0].number == 0:
        before = BarPlan(measure=measures[0], bass=0, chords=0, pickup=True)
        return (before, *_plan_bars(measures[1:], rng=rng, ending=ending))
    return _plan_bars(measures, rng=rng, ending=ending)


def _plan_bars(measures: Sequence[Measure], *, rng: Random, ending: Ending) -> tuple[BarPlan, ...]:
    """The plans of whole bars."""
    starts = section_starts(measures)
    plans: list[BarPlan] = []
    for start, end in pairwise((*starts, len(measures))):
        for first in range(start, end, PHRASE_BARS):
            bass, chords = _pair(rng), _pair(rng)
            for index in range(first, min(first + PHRASE_BARS, end)):
                size = _fill(index, start, end, len(measures), ending)
                if size is FillSize.SLIGHT and rng.random() > SLIGHT_FILL_SHARE:
                    size = FillSize.NONE
                plans.append(
                    BarPlan(
                        measure=measures[index],
                        bass=bass[(index - first) // 3],
                        chords=chords[(index - first) % 2],
                        fill=size,
                        fresh=index == start and end - start >= 2 * PHRASE_BARS,
                        final=ending is Ending.FINAL and index == len(measures) - 1,
                    )
                )
    return tuple(plans)


def section_starts(measures: Sequence[Measure]) -> tuple[int, ...]:
    """Indexes of bars where a section begins: named ones, else each turn of the repeating form; 0 always first."""
    named = tuple(index for index, measure in enumerate(measures) if measure.section or index == 0)
    if len(named) > 1 or (measures and measures[0].section):
        return named
    return tuple(range(0, len(measures), _form_bars(measures)))


def part_ranges(bars: Sequence[BarPlan]) -> tuple[tuple[int, int], ...]:
    """Where each part of the planned bars begins and ends, as indexes; a pick-up belongs to none."""
    first = sum(bar.pickup for bar in bars[:1])
    starts = section_starts([bar.measure for bar in bars[first:]])
    return tuple((first + start, first + end) for start, end in pairwise((*starts, len(bars) - first)))


def _form_bars(measures: Sequence[Measure]) -> int:
    chords = [tuple((span.duration, span.chord) for span in measure.chords) for measure in measures]
    for length in range(PHRASE_BARS, len(chords) // 2 + 1):
        if all(first == second for first, second in zip(chords, chords[length:], strict=False)):
            return length
    return max(len(chords), 1)


def _pair(rng: Random) -> tuple[int, int]:
    """Two different variations for one phrase."""
    first = rng.randrange(12)
    return first, first + rng.choice((1, 2))


def _fill(index: int, start: int, end: int, bars: int, ending: Ending) -> FillSize:
    """The fill that may close a bar, counted from its section's start."""
    if ending is Ending.FINAL and index >= bars - 2:
        return FillSize.FULL if index == bars - 2 and bars > PHRASE_BARS else FillSize.NONE
    done, left = index - start + 1, end - index - 1
    if end - start < 2 * PHRASE_BARS:
        done, left = index + 1, 0 if index == bars - 1 else 2 * PHRASE_BARS
    if left == 0 and bars >= 2 * PHRASE_BARS:
        return FillSize.FULL
    if done % (2 * PHRASE_BARS) == 0 and left >= 2 * PHRASE_BARS:
        return FillSize.FULL
    return FillSize.SLIGHT if left == 0 or (done % PHRASE_BARS == 0 and left >= 2) else FillSize.NONE

"""Which count each note was meant to fall on: by likelihood, a counted unit at a time, never by nearness alone.

A unit (a quarter in 4/4, an eighth in 12/8) is read in two or in three: ``1 e & a`` or ``1 trip let``. All ways to give
the notes of a take to units and places are weighed together (dynamic programming over units and notes), each note by
how far it lies from where the take's clock, swing included, puts its place, and each place by how usual it is. So a
swung eighth stays an ``&`` when the take swings, and three even notes become a triplet.

The costs are nats, set by judgement: eighths are usual, finer counts must be earned, a ``let`` without its ``trip`` is
mostly a swung eighth. Notes struck together share a count; other notes share one unwillingly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.bars import Unit, units_between
from phrasewright.listen.placed import TakeClock
from phrasewright.score.model import Measure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

IN_TWO = (Fraction(0), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))
IN_THREE = (Fraction(0), Fraction(1, 3), Fraction(2, 3))
COST_IN_TWO = (0.0, 1.4, 0.3, 1.4)
COST_IN_THREE = (0.3, 1.2, 1.2)
LET_ALONE, TRIP_ALONE = 1.5, 1.0
SWUNG_LET_ALONE, SWUNG_E = 3.0, 1.5  # on top, where the take swings
SWINGS_SHIFT = 0.06  # of a beat: a ratio of 1.27
SHARED = 3.0
TOGETHER_S = 0.03
FAR_SDS = 2.5  # from here on a distance costs in proportion, not squared
EARLY_SHARE, LATE_SHARE = (
    0.4,
    0.4,
)  # of a unit: how far before and after its start a note may still be its, or the last's
LEAST_SD_S, MOST_SD_S = 0.012, 0.045
IMPOSSIBLE = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ladder:
    """Units with the seconds of their places. starts_s: (n + 1,); two_s: (n, 4); three_s: (n, 3)."""

    units: tuple[Unit, ...]
    starts_s: FloatArray
    two_s: FloatArray
    three_s: FloatArray
    swings: bool


def counted(
    onsets_s: FloatArray, clock: TakeClock, measures: Sequence[Measure], *, spread_s: float
) -> tuple[Fraction, ...]:
    """The count of each note, in quarter notes from the score start, never falling.

    onsets_s: (n,), rising; spread_s: how far notes of this take lie off their places, one standard deviation.
    """
    if not len(onsets_s):
        return ()
    ladder = _ladder(onsets_s, clock, measures)
    sd_s = float(np.clip(spread_s, LEAST_SD_S, MOST_SD_S))
    edges = [_edges(onsets_s, ladder, at) for at in range(len(ladder.units) + 1)]
    edges[0], edges[-1] = range(1), range(len(onsets_s), len(onsets_s) + 1)
    best: dict[int, float] = {0: 0.0}
    back: list[dict[int, tuple[int, tuple[Fraction, ...]]]] = []
    for unit in range(len(ladder.units)):
        reached: dict[int, float] = {}
        came: dict[int, tuple[int, tuple[Fraction, ...]]] = {}
        rungs = _rungs(onsets_s, range(min(best), edges[unit + 1].stop), ladder, unit, sd_s)
        for first, cost in best.items():
            for after in edges[unit + 1]:
                if after < first:
                    continue
                own, places = _read_unit(range(first, after), rungs, swings=ladder.swings)
                if cost + own < reached.get(after, IMPOSSIBLE):
                    reached[after], came[after] = cost + own, (first, places)
        best = reached
        back.append(came)
    return _traced(ladder, back, len(onsets_s))


def _traced(
    ladder: _Ladder, back: Sequence[dict[int, tuple[int, tuple[Fraction, ...]]]], notes: int
) -> tuple[Fraction, ...]:
    counts: list[Fraction] = []
    after = notes
    for unit, came in zip(reversed(ladder.units), reversed(back), strict=True):
        after, places = came[after]
        counts[:0] = [unit.start + place * unit.length for place in places]
    return tuple(counts)


def _ladder(onsets_s: FloatArray, clock: TakeClock, measures: Sequence[Measure]) -> _Ladder:
    first = _written_near(float(onsets_s[0]), clock) - measures[0].meter.unit
    last = _written_near(float(onsets_s[-1]), clock) + 2 * measures[-1].meter.unit
    units = tuple(units_between(first, last, measures))
    two = [[clock.seconds_at(unit.start + part * unit.length) for part in IN_TWO] for unit in units]
    three = [[clock.seconds_at(unit.start + part * unit.length) for part in IN_THREE] for unit in units]
    end_s = clock.seconds_at(units[-1].start + units[-1].length)
    return _Ladder(
        units=units,
        starts_s=np.array([*(row[0] for row in two), end_s]),
        two_s=np.array(two),
        three_s=np.array(three),
        swings=clock.performance.swing_shift > SWINGS_SHIFT and units[0].length == 1,
    )


def _written_near(second: float, clock: TakeClock) -> Fraction:
    """A written time that sounds near a second of the take, to a quarter note."""
    low, high = -1, 1
    while clock.seconds_at(Fraction(low)) > second:
        low *= 2
    while clock.seconds_at(Fraction(high)) < second:
        high *= 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if clock.seconds_at(Fraction(middle)) <= second else (low, middle)
    return Fraction(low)


def _edges(onsets_s: FloatArray, ladder: _Ladder, unit: int) -> range:
    """How many notes may lie before the start of a unit."""
    start_s = float(ladder.starts_s[unit])
    long_s = float(ladder.starts_s[min(unit + 1, len(ladder.units))] - ladder.starts_s[max(unit - 1, 0)]) / 2
    first = int(np.searchsorted(onsets_s, start_s - EARLY_SHARE * long_s))
    last = int(np.searchsorted(onsets_s, start_s + LATE_SHARE * long_s))
    return range(first, last + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rungs:
    """What it costs to lay notes on the places of one unit. two, three: by note; close: notes struck with the last."""

    two: dict[int, list[float]]
    three: dict[int, list[float]]
    close: frozenset[int]


def _rungs(onsets_s: FloatArray, notes: range, ladder: _Ladder, unit: int, sd_s: float) -> _Rungs:
    own_s = onsets_s[notes.start : notes.stop]
    two = _costs(own_s, ladder.two_s[unit], COST_IN_TWO, sd_s)
    three = _costs(own_s, ladder.three_s[unit], COST_IN_THREE, sd_s)
    close = np.flatnonzero(np.diff(own_s) <= TOGETHER_S) + notes.start + 1
    return _Rungs(
        two=dict(zip(notes, two, strict=False)),
        three=dict(zip(notes, three, strict=False)),
        close=frozenset(close.tolist()),
    )


def _costs(onsets_s: FloatArray, places_s: FloatArray, usual: Sequence[float], sd_s: float) -> list[list[float]]:
    """(notes, places) in nats."""
    off = np.abs(onsets_s[:, None] - places_s) / sd_s
    own = np.where(off <= FAR_SDS, off**2 / 2, FAR_SDS * off - FAR_SDS**2 / 2) + np.asarray(usual)
    costs: list[list[float]] = own.tolist()
    return costs


def _read_unit(notes: range, rungs: _Rungs, *, swings: bool) -> tuple[float, tuple[Fraction, ...]]:
    """The cheapest reading of the notes of one unit: its cost and the place of each."""
    if not notes:
        return 0.0, ()
    in_two = _placed(notes, rungs.two, rungs.close)
    in_three = _placed(notes, rungs.three, rungs.close)
    cost_two = in_two[0] + (SWUNG_E if swings and 1 in in_two[1] and 3 not in in_two[1] else 0.0)
    cost_three = in_three[0]
    if 2 in in_three[1] and 1 not in in_three[1]:
        cost_three += LET_ALONE + (SWUNG_LET_ALONE if swings else 0.0)
    elif 1 in in_three[1] and 2 not in in_three[1]:
        cost_three += TRIP_ALONE
    if cost_three < cost_two:
        return cost_three, tuple(IN_THREE[place] for place in in_three[1])
    return cost_two, tuple(IN_TWO[place] for place in in_two[1])


def _placed(notes: range, costs: dict[int, list[float]], close: frozenset[int]) -> tuple[float, tuple[int, ...]]:
    """Notes on rising places, at least cost."""
    ways: list[tuple[float, tuple[int, ...]]] = [(cost, (place,)) for place, cost in enumerate(costs[notes[0]])]
    for note in notes[1:]:
        shared = 0.0 if note in close else SHARED
        found: list[tuple[float, tuple[int, ...]]] = []
        below: tuple[float, tuple[int, ...]] = (IMPOSSIBLE, ())
        for place, (cost, own) in enumerate(zip(ways, costs[note], strict=True)):
            so_far, way = min(below, (cost[0] + shared, cost[1]))
            found.append((so_far + own, (*way, place)))
            below = min(below, cost)
        ways = found
    return min(ways)

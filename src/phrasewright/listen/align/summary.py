"""How a take lies in time: bias, spread, drift, swing; and where on the way it ran ahead.

Bias and drift are the player's only against a known offset or track; where the notes themselves laid the clock, bias
cannot be told from latency and is not. Drift is the tempo at the end against the start where it changes beyond chance,
else against the track. Spread is told around the trend, so that neither drift nor swing counts as unevenness
(docs/sources.md 5).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.even import clock_s, performed_s
from phrasewright.listen.align.trend import Fitted, middle_of, tempo_fit
from phrasewright.listen.noticed import BELIEVED
from phrasewright.listen.placed import Alignment, OffsetSource, PlacedNote, TimingSummary
from phrasewright.score.performance import swing_weight

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

LEAST_FOR_BIAS, LEAST_FOR_SPREAD, LEAST_FOR_DRIFT = 4, 8, 16
DRIFT_S = 8.0
LEAST_OFF_BEATS, LEAST_ON_BEATS = 6, 4
SURE_SDS = 3.0
PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BarTiming:
    """One bar's notes in time. bar: its printed number; notes: how many.

    deviation_s: median, positive = late; ahead_s: of one tempo throughout, median, positive = rushing.
    """

    bar: int
    notes: int
    deviation_s: float
    ahead_s: float


def timing_summary(alignment: Alignment) -> TimingSummary:
    """The figures of a whole take."""
    notes, clock = _counting(alignment.notes), alignment.clock
    if not notes:
        return TimingSummary(bias_s=None, spread_s=None, drift_percent=None, swing_ratio=None, notes=0)
    known = clock.source in (OffsetSource.GIVEN, OffsetSource.TRACK)
    even_s = performed_s((note.at for note in notes), clock.performance)
    fit = tempo_fit(even_s, _off_steady_s(alignment, notes), ridge=(0.0, 0.0))
    enough = len(notes) >= LEAST_FOR_DRIFT and float(np.ptp(even_s)) >= DRIFT_S
    return TimingSummary(
        bias_s=median(note.deviation_s for note in notes) if known and len(notes) >= LEAST_FOR_BIAS else None,
        spread_s=fit.spread if len(notes) >= LEAST_FOR_SPREAD else None,
        drift_percent=_drift_percent(alignment, fit, even_s) if enough else None,
        swing_ratio=_swing_ratio(alignment, notes),
        notes=len(notes),
    )


def timing_by_bar(alignment: Alignment) -> tuple[BarTiming, ...]:
    """Where on the way the take ran early or late, bar by bar; bars without notes are left out."""
    notes = _counting(alignment.notes)
    rows = zip(notes, -_off_steady_s(alignment, notes), strict=True)
    found = []
    for bar, inside in groupby(rows, key=lambda row: row[0].bar):
        own = list(inside)
        found.append(
            BarTiming(
                bar=bar,
                notes=len(own),
                deviation_s=median(note.deviation_s for note, _ in own),
                ahead_s=median(float(ahead_s) for _, ahead_s in own),
            )
        )
    return tuple(found)


def _counting(notes: Sequence[PlacedNote]) -> list[PlacedNote]:
    return [placed for placed in notes if placed.note.confidence >= BELIEVED]


def _off_steady_s(alignment: Alignment, notes: Sequence[PlacedNote]) -> FloatArray:
    """How late each note is against one tempo throughout, the player's swing taken out."""
    steady = replace(alignment.clock, slowing_per_s=0.0)
    return np.array([placed.note.onset_s for placed in notes]) - clock_s((placed.at for placed in notes), steady)


def _drift_percent(alignment: Alignment, fit: Fitted, even_s: FloatArray) -> float:
    slower, slowing = float(fit.values[1]), float(fit.values[-1])
    stretch, middle_s = alignment.clock.stretch + slower, middle_of(even_s)
    if slowing:
        first, last = (stretch + slowing * (float(at_s) - middle_s) for at_s in (even_s.min(), even_s.max()))
        return PERCENT * (first / last - 1.0)
    beyond_chance = abs(slower) > SURE_SDS * fit.errors[1]
    if alignment.clock.source is OffsetSource.TRACK:
        return PERCENT * (1.0 / stretch - 1.0) if beyond_chance or alignment.clock.slowing_per_s else 0.0
    if alignment.clock.source is OffsetSource.GIVEN and beyond_chance:
        return PERCENT * (alignment.clock.stretch / stretch - 1.0)
    return 0.0


def _swing_ratio(alignment: Alignment, notes: Sequence[PlacedNote]) -> float | None:
    """Long to short, from the clock, where enough notes lie on and half-way between beats."""
    weights = [float(swing_weight(placed.at)) for placed in notes]
    if weights.count(1) < LEAST_OFF_BEATS or weights.count(0) < LEAST_ON_BEATS:
        return None
    performance = alignment.clock.performance
    return performance.swing.ratio_at(performance.tempo_bpm)

"""A performance without its swing, as arrays: the scale that offset, tempo and swing of a take are read against."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.placed import TakeClock
from phrasewright.score.performance import Performance, SwingCurve, swing_weight

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

LEAST_SHIFT, MOST_SHIFT = -0.08, 0.29  # of a beat: swing ratios of 0.72 to 3.8
AROUND_QUARTERS = 64  # how far the scale goes on before and after the bars


def unswung(performance: Performance) -> Performance:
    """The same, straight."""
    return replace(performance, swing=SwingCurve())


def swung(performance: Performance, shift: float) -> Performance:
    """The same with its half-beats so many quarter notes late, within what players do."""
    long = 0.5 + float(np.clip(shift, LEAST_SHIFT, MOST_SHIFT))
    return replace(performance, swing=SwingCurve(((performance.tempo_bpm, long / (1.0 - long)),)))


def performed_s(times: Iterable[Fraction], performance: Performance) -> FloatArray:
    """Performed seconds of written times, without swing."""
    even = unswung(performance)
    return np.array([even.seconds_at(time) for time in times], dtype=np.float64)


def swing_s(times: Iterable[Fraction], performance: Performance) -> FloatArray:
    """How many seconds each written time is delayed by a swing that delays the half-beat by a whole quarter note."""
    rate = performance.pace.rate_at
    weights = [float(swing_weight(time)) * rate(float(time)) for time in times]
    return np.array(weights, dtype=np.float64) * 60.0 / performance.tempo_bpm


def clock_s(times: Iterable[Fraction], clock: TakeClock) -> FloatArray:
    """When written times sound in the take."""
    return np.array([clock.seconds_at(time) for time in times], dtype=np.float64)


def scale_of(performance: Performance, quarters: Fraction) -> tuple[FloatArray, FloatArray]:
    """(written quarter notes, performed seconds) rising, from well before 0 to well after the score's end."""
    written: Sequence[int] = range(-AROUND_QUARTERS, int(quarters) + AROUND_QUARTERS + 1)
    return np.array(written, dtype=np.float64), performed_s((Fraction(time) for time in written), performance)

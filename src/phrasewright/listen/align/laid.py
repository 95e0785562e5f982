"""A take's clock, fitted to notes whose counts are known: offset, tempo, a steady change of tempo, swing.

All four are told together by one robust line, since each would pass for another: late off-beats for a late take, a
slower tempo for a later start. A change of tempo is only believed where chance would hardly bring it about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.even import performed_s, swing_s, swung
from phrasewright.listen.align.trend import middle_of, robust_fit, tempo_fit
from phrasewright.listen.placed import TakeClock

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

# what a few notes cannot move, as variances against that of a note: 2 % of tempo, a tenth of a beat of swing at 120
RIDGE = (1e-6, 1.0, 0.2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """clock: that fits best; spread_s: of the notes around it, one standard deviation; residuals_s: (n,) of each."""

    clock: TakeClock
    spread_s: float
    residuals_s: FloatArray


def laid(
    counts: Sequence[Fraction],
    onsets_s: FloatArray,
    weights: FloatArray,
    clock: TakeClock,
    *,
    at_its_tempo: bool = False,
) -> Laid:
    """The clock that notes at known counts lie on. clock: a guess, from which few notes move it little.

    at_its_tempo: the guess's tempo is right; only offset and swing are told.
    """
    even_s = performed_s(counts, clock.performance)
    delay_s = swing_s(counts, clock.performance)
    around_s = middle_of(even_s)
    stretch = clock.stretch + clock.slowing_per_s * (around_s - clock.around_s)
    shift = clock.performance.swing_shift * stretch
    rest_s = onsets_s - (clock.offset_s + stretch * even_s + shift * delay_s)
    if at_its_tempo:
        pull = np.array([RIDGE[0], RIDGE[2]])
        best = robust_fit(np.column_stack([np.ones_like(rest_s), delay_s]), rest_s, weights=weights, ridge=pull)
        offset_s, delay = (float(value) for value in best.values)
        slower = slowing = 0.0
    else:
        best = tempo_fit(even_s, rest_s, others=delay_s[:, None], weights=weights, ridge=RIDGE)
        offset_s, slower, delay, slowing = (float(value) for value in best.values)
    stretch += slower
    found = replace(
        clock,
        performance=swung(clock.performance, (shift + delay) / stretch),
        offset_s=clock.offset_s + offset_s,
        stretch=stretch,
        slowing_per_s=slowing,
        around_s=around_s,
    )
    return Laid(clock=found, spread_s=best.spread, residuals_s=best.residuals)

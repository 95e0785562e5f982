"""Straight and bent lines through noisy times, and how far the times lie around them, a few wild ones left out.

Least squares with Tukey's biweight (Beaton and Tukey, 1974; constant 4.685 for 95 % efficiency, common practice), its
scale from the median of absolute residuals. The spread is the standard deviation of what lies within three such scales,
made good for the tails cut off, so that it needs a third of the notes that the median alone would need.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

MAD_TO_SD = 1.4826  # of a normal distribution
BIWEIGHT = 4.685
ROUNDS = 12
REACH_SDS = 3.0
SD_WITHIN_REACH = 0.98658  # of a standard normal distribution cut off at +-3
LEAST_SCALE_S = 1e-4
SURE_SDS = 4.0  # standard errors from which on a change of tempo is believed: few takes in 10,000 by chance
BEND_NOTES, BEND_S = 16, 8.0  # a take that has fewer notes, or is shorter, tells of none


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fitted:
    """values: one per column; errors: standard error of each; spread: of the residuals (n,)."""

    values: FloatArray
    errors: FloatArray
    spread: float
    residuals: FloatArray


def robust_fit(
    columns: FloatArray, wanted: FloatArray, *, weights: FloatArray | None = None, ridge: FloatArray | None = None
) -> Fitted:
    """Values v so that ``columns @ v`` comes near ``wanted``.

    columns: (n, k); wanted: (n,); weights: (n,), 0..1, of each row; ridge: (k,), a pull of each value towards zero, in
    rows' worth of squared weight. Raises ValueError when there are no rows.
    """
    if not len(wanted):
        raise ValueError("nothing to fit")
    own = np.ones(len(wanted)) if weights is None else weights
    pull = np.diag(np.zeros(columns.shape[1]) if ridge is None else ridge)
    row = own
    for _ in range(ROUNDS):
        normal = (columns * row[:, None]).T @ columns + pull
        values = np.linalg.lstsq(normal, (columns * row[:, None]).T @ wanted, rcond=None)[0]
        residuals: FloatArray = np.asarray(wanted - columns @ values, dtype=np.float64)
        scale = max(MAD_TO_SD * float(np.median(np.abs(residuals))), LEAST_SCALE_S)
        row = own * np.clip(1.0 - (residuals / (BIWEIGHT * scale)) ** 2, 0.0, None) ** 2
    spread = spread_around(residuals, fitted=columns.shape[1])
    errors = spread * np.sqrt(np.clip(np.diag(np.linalg.pinv(normal)), 0.0, None))
    return Fitted(values=np.asarray(values), errors=errors, spread=spread, residuals=residuals)


def spread_around(residuals: FloatArray, *, fitted: int = 0) -> float:
    """Robust standard deviation around zero. fitted: how many values were drawn from the same residuals."""
    scale = max(MAD_TO_SD * float(np.median(np.abs(residuals))), LEAST_SCALE_S)
    within = residuals[np.abs(residuals) <= REACH_SDS * scale]
    freedom = max(len(within) - fitted, 1)
    return math.sqrt(float(np.sum(within**2)) / freedom) / SD_WITHIN_REACH


def tempo_fit(
    performed_s: FloatArray,
    wanted_s: FloatArray,
    *,
    others: FloatArray | None = None,
    weights: FloatArray | None = None,
    ridge: Sequence[float] = (0.0, 0.0),
) -> Fitted:
    """Offset, tempo, what ``others`` (n, k) asks for, and last a change of tempo, in this order.

    The change is the slope's growth per second of performed_s (n,), pivoted at ``middle_of(performed_s)``; it is 0,
    with an error of 0, unless it is beyond chance. ridge: of all but the change.
    """
    extra = np.zeros((len(wanted_s), 0)) if others is None else others
    columns = np.column_stack([np.ones_like(performed_s), performed_s, extra])
    pull = np.array(ridge)
    if len(wanted_s) >= BEND_NOTES and float(np.ptp(performed_s)) >= BEND_S:
        bend = performed_s * (performed_s / 2.0 - middle_of(performed_s))
        bent = robust_fit(np.column_stack([columns, bend]), wanted_s, weights=weights, ridge=np.append(pull, 0.0))
        if abs(bent.values[-1]) > SURE_SDS * bent.errors[-1]:
            return bent
    even = robust_fit(columns, wanted_s, weights=weights, ridge=pull)
    return replace(even, values=np.append(even.values, 0.0), errors=np.append(even.errors, 0.0))


def middle_of(performed_s: FloatArray) -> float:
    """Half-way from the first to the last."""
    return (float(performed_s.min()) + float(performed_s.max())) / 2.0

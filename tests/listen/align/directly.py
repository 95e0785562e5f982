"""Timing of a take computed directly from note times and counts, with scipy, by none of the program's own code.

A straight line through all times against counts (offset, tempo), half-beats shifted by a swing, finer off-beats by its
share; a parabola where its curvature lies beyond four standard errors, a tempo of the player's own beyond three.
Tukey's biweight loss at 4.685 robust standard deviations (Beaton and Tukey, 1974) is minimised as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import median_abs_deviation, truncnorm

BIWEIGHT = 4.685
BEND_SDS, TEMPO_SDS = 4.0, 3.0


@dataclass(frozen=True, kw_only=True)
class Timing:
    """Of one take. drift_percent: tempo at the last note against the first, or against the beats; 0 by chance."""

    bias_s: float
    spread_s: float
    drift_percent: float
    swing_ratio: float


def swung_share(counts: np.ndarray) -> np.ndarray:
    """How much of the half-beat's delay a count has: all half-way, half on sixteenths, none on beats and triplets."""
    quarters = np.round(4.0 * (counts % 1.0), 6)
    return np.select([quarters == 2.0, (quarters == 1.0) | (quarters == 3.0)], [1.0, 0.5], 0.0)


def timing_of(onsets_s: np.ndarray, counts: np.ndarray, *, first_beat_s: float, beat_s: float) -> Timing:
    """counts: (n,) in beats from the first one; a fixed tempo is meant."""
    meant_s = counts * beat_s
    late_s = onsets_s - first_beat_s - meant_s
    centre_s = meant_s - (meant_s.min() + meant_s.max()) / 2.0
    plain = np.column_stack([np.ones_like(meant_s), centre_s, swung_share(counts) * beat_s])
    bent = np.column_stack([plain, centre_s**2 / 2.0])
    columns = bent
    values, errors = _robust(bent, late_s)
    if abs(values[3]) > BEND_SDS * errors[3]:
        start, end = (1.0 + values[1] + values[3] * at_s for at_s in (centre_s.min(), centre_s.max()))
        drift_percent = 100.0 * (start / end - 1.0)
    else:
        columns = plain
        values, errors = _robust(plain, late_s)
        is_own = abs(values[1]) > TEMPO_SDS * errors[1]
        drift_percent = 100.0 * (1.0 / (1.0 + values[1]) - 1.0) if is_own else 0.0
    residuals = late_s - columns @ values
    shift = values[2]
    return Timing(
        bias_s=float(np.median(late_s - shift * plain[:, 2])),
        spread_s=_spread(residuals, columns.shape[1]),
        drift_percent=float(drift_percent),
        swing_ratio=float((0.5 + shift) / (0.5 - shift)),
    )


def _robust(columns: np.ndarray, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Values of least biweight loss, and their standard errors."""
    values = np.linalg.lstsq(columns, wanted, rcond=None)[0]
    scaled = np.abs(columns).max(axis=0)
    for _ in range(8):
        scale = median_abs_deviation(wanted - columns @ values, center=_zero, scale="normal")
        found = least_squares(
            lambda v: wanted - (columns / scaled) @ v,
            values * scaled,
            loss=_biweight,
            f_scale=BIWEIGHT * scale,
            xtol=1e-12,
            ftol=1e-12,
        )
        values = found.x / scaled
    residuals = wanted - columns @ values
    weights = np.clip(1.0 - (residuals / (BIWEIGHT * scale)) ** 2, 0.0, None) ** 2
    covariance = np.linalg.inv((columns * weights[:, None]).T @ columns)
    return values, _spread(residuals, columns.shape[1]) * np.sqrt(np.diag(covariance))


def _zero(_: np.ndarray, axis: int | None) -> float:
    return 0.0


def _biweight(squares: np.ndarray) -> np.ndarray:
    inside = np.clip(1.0 - squares, 0.0, None)
    return np.array([(1.0 - inside**3) / 3.0, inside**2, -2.0 * inside])


def _spread(residuals: np.ndarray, fitted: int) -> float:
    scale = median_abs_deviation(residuals, center=_zero, scale="normal")
    within = residuals[np.abs(residuals) <= 3.0 * scale]
    return float(np.sqrt(np.sum(within**2) / (len(within) - fitted)) / truncnorm.std(-3.0, 3.0))

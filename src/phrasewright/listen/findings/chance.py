"""How sure a figure is to lie beyond its limit: exact binomial tails for shares, normal errors for means.

A share of k in n is surely above a limit when so many would hardly come about at the limit itself; a mean, when its
standard error does not reach back to the limit (textbook statistics). Nothing under ``SURE`` is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import comb, erf, sqrt
from statistics import median

from phrasewright.listen.align.trend import MAD_TO_SD

SURE = 0.8  # the odds from which a thing is said: four times in five

MEDIAN_ERROR = 1.25  # standard error of a median over that of a mean


def share_above(count: int, of: int, limit: float) -> float:
    """How sure it is that a share, count of so many, lies above a limit: 0..1."""
    return _fewer(count, of, limit)


def share_below(count: int, of: int, limit: float) -> float:
    """How sure it is that a share lies below a limit: 0..1."""
    return _fewer(of - count, of, 1.0 - limit)


def mean_above(mean: float, limit: float, error: float) -> float:
    """How sure it is that a mean with a standard error lies above a limit: 0..1."""
    if error <= 0.0:
        return 1.0 if mean > limit else 0.0
    return 0.5 * (1.0 + erf((mean - limit) / (error * sqrt(2.0))))


def deviation_of(values: Sequence[float]) -> float:
    """A robust standard deviation: that of a normal distribution with the same median distance from the middle."""
    middle = median(values)
    return MAD_TO_SD * median(abs(value - middle) for value in values)


def median_error(values: Sequence[float], scatter: float) -> float:
    """Standard error of a median. scatter: least spread of one value, for a few that chance made alike."""
    return MEDIAN_ERROR * max(deviation_of(values), scatter) / sqrt(len(values))


def _fewer(count: int, of: int, share: float) -> float:
    """The odds of fewer than ``count`` of so many, each with the odds ``share``."""
    return sum(comb(of, k) * share**k * (1.0 - share) ** (of - k) for k in range(count))

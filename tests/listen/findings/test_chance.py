"""How sure a figure is to lie beyond a limit: against scipy, and by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, norm

from phrasewright.listen.findings.chance import mean_above, median_error, share_above, share_below

SHARES = st.floats(0.01, 0.99)


@given(st.integers(0, 60), st.integers(1, 60), SHARES)
def test_shares_are_binomial_tails(count: int, of: int, limit: float) -> None:
    """The odds of fewer at the limit, as scipy has them; below is above from the other side."""
    count = min(count, of)
    assert share_above(count, of, limit) == pytest.approx(float(binom.cdf(count - 1, of, limit)), abs=1e-9)
    assert share_below(count, of, limit) == pytest.approx(share_above(of - count, of, 1.0 - limit))


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(0.01, 20))
def test_means_are_normal(mean: float, limit: float, error: float) -> None:
    """The odds that a mean with a standard error lies above, as scipy has them."""
    assert mean_above(mean, limit, error) == pytest.approx(float(norm.cdf((mean - limit) / error)), abs=1e-9)


def test_a_mean_without_error_is_sure() -> None:
    """Without an error, a mean is above its limit or it is not."""
    assert mean_above(2.0, 1.0, 0.0) == 1.0
    assert mean_above(1.0, 2.0, 0.0) == 0.0


def test_the_error_of_a_median() -> None:
    """1.25 times 1.4826 median absolute deviations over the root of n; never under what one value's scatter allows."""
    assert median_error([1.0, 2.0, 3.0, 4.0], 0.1) == pytest.approx(1.25 * 1.4826 * 1.0 / 2.0)
    assert median_error([5.0] * 9, 3.0) == pytest.approx(1.25 * 3.0 / 3.0)

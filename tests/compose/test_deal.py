"""Dealing turns: every taker another thing, with the highest sum."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from phrasewright.compose.deal import deal


@st.composite
def tables(draw: st.DrawFn) -> list[list[float]]:
    """Worths of one to seven rows and at least as many columns, some of them the same, some forbidding."""
    columns = draw(st.integers(1, 9))
    worth = st.sampled_from((-1e3, 0.0, 1.0)) | st.floats(-9, 9)
    row = st.lists(worth, min_size=columns, max_size=columns)
    return draw(st.lists(row, min_size=1, max_size=min(7, columns)))


@given(tables())
def test_no_other_deal_is_worth_more(worths: list[list[float]]) -> None:
    """The sum is that of an independent solver, and nothing is dealt twice."""
    dealt = deal(worths)
    assert len(set(dealt)) == len(worths)
    rows, columns = linear_sum_assignment(worths, maximize=True)
    best = sum(worths[row][column] for row, column in zip(rows, columns, strict=True))
    assert sum(worths[row][column] for row, column in enumerate(dealt)) == pytest.approx(best)


def test_a_small_deal_by_hand() -> None:
    """The first gives way where the second has nothing else: 5 + 1 and 4 + 4, so 4 + 4."""
    assert deal([[5.0, 4.0], [4.0, 1.0]]) == [1, 0]
    assert deal([]) == []


def test_too_few_things_are_refused() -> None:
    """Two takers need two things."""
    with pytest.raises(ValueError, match="cannot be dealt"):
        deal([[1.0], [2.0]])

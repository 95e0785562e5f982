"""The best path is exact: no other path that keeps the rule is better."""

from __future__ import annotations

from itertools import groupby, pairwise, product
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.compose.chain import Chain, best_path


@given(st.integers(1, 6), st.integers(2, 3), st.integers(1, 3), st.integers(0, 10_000))
def test_no_path_is_better(slots: int, kinds: int, longest_run: int, seed: int) -> None:
    """Against every path tried out: the sum is the highest among those without a longer run."""
    rng = Random(seed)
    worth = [[rng.random() for _ in range(kinds)] for _ in range(slots)]
    join = [[rng.random() for _ in range(kinds)] for _ in range(kinds)]
    chain = Chain(
        slots=[tuple(range(kinds))] * slots,
        worth=lambda slot, choice: worth[slot][choice],
        join=lambda before, after: join[before][after],
        kind=lambda choice: choice,
        longest_run=longest_run,
    )

    def total(path: tuple[int, ...]) -> float:
        joins = sum(join[a][b] for a, b in pairwise(path))
        return sum(worth[slot][choice] for slot, choice in enumerate(path)) + joins

    allowed = [
        path
        for path in product(range(kinds), repeat=slots)
        if all(len(list(run)) <= longest_run for _, run in groupby(path))
    ]
    found = best_path(chain)
    assert found in allowed
    assert total(found) == pytest.approx(max(total(path) for path in allowed))


def test_a_single_kind_breaks_the_rule_and_goes_on() -> None:
    """One motif on the shelf still fills every slot."""
    chain = Chain(slots=[("A",)] * 5, worth=lambda *_: 0.0, join=lambda *_: 0.0, kind=lambda choice: choice)
    assert best_path(chain) == ("A",) * 5


def test_nothing_to_choose() -> None:
    """No slots give an empty path, an empty slot is a mistake."""
    for slots, found in (([], ()), ([("A",)], ("A",))):
        chain = Chain(slots=slots, worth=lambda *_: 0.0, join=lambda *_: 0.0, kind=lambda choice: choice)
        assert best_path(chain) == found
    with pytest.raises(ValueError, match="no choice"):
        best_path(Chain(slots=[("A",), ()], worth=lambda *_: 0.0, join=lambda *_: 0.0, kind=lambda choice: choice))

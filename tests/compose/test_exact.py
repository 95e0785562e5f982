"""Composing is exact: messages, best paths and drawn paths against brute force."""

from __future__ import annotations

from collections import Counter
from itertools import islice
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lattices import all_paths, lattices
from scipy.stats import chisquare

from phrasewright.compose.best import best_paths
from phrasewright.compose.draw import draw_paths
from phrasewright.compose.lattice import Boundary, Lattice, lay_tally
from phrasewright.compose.to_go import look_ahead


@given(lattices())
def test_the_best_paths_are_those_of_brute_force(lattice: Lattice) -> None:
    """All paths come out once, in rising order, at their true cost."""
    wanted = all_paths(lattice)
    found = list(best_paths(look_ahead(lattice)))
    assert [bits for bits, _ in found] == pytest.approx([bits for bits, _ in wanted], abs=1e-9)
    assert {path for _, path in found} == {path for _, path in wanted}
    assert len({path for _, path in found}) == len(found)
    assert all(bits == pytest.approx(lattice.bits_of(path), abs=1e-9) for bits, path in found)


@given(lattices(), st.sampled_from([0.0, 0.3, 1.0, 4.0]))
def test_chances_are_exact(lattice: Lattice, keenness: float) -> None:
    """The chance of every path, multiplied out from the messages, is 2 ** (-keenness x bits) over the sum of all."""
    paths = all_paths(lattice)
    to_go = look_ahead(lattice, keenness=keenness)
    assert to_go.possible == bool(paths)
    weights = np.array([2.0 ** (-keenness * bits) for bits, _ in paths])
    for (_, path), wanted in zip(paths, weights / max(weights.sum(), 1e-300), strict=True):
        chance, run, state, leaving = 1.0, np.zeros(1, int), np.zeros(1, int), np.zeros(1, int)
        for slot, choice in enumerate(path):
            bits, crowd, runs, states = to_go.follow(slot, run, state, leaving)
            excess = bits[0] - bits[0].min()
            worth = np.where(np.isfinite(excess), 2.0 ** (-keenness * np.minimum(excess, 1e6)) * crowd[0], 0.0)
            chance *= worth[choice] / worth.sum()
            run, state = runs[:, choice], states[:, choice]
            if slot + 1 < len(path):
                leaving = lattice.boundaries[slot].leaving[[choice]]
        assert chance == pytest.approx(wanted, rel=1e-9)


@given(lattices(), st.sampled_from([0.0, 1.0, 50.0]), st.integers(0, 99))
def test_whatever_is_drawn_keeps_every_rule(lattice: Lattice, keenness: float, seed: int) -> None:
    """No drawn path is forbidden; where nothing is allowed, drawing says so."""
    to_go = look_ahead(lattice, keenness=keenness)
    if not to_go.possible:
        with pytest.raises(ValueError, match="no path"):
            draw_paths(to_go, Random(seed))
        return
    assert all(np.isfinite(lattice.bits_of(path)) for path in draw_paths(to_go, Random(seed), how_many=20))


@pytest.mark.parametrize("keenness", [0.0, 0.7, 2.0])
def test_draws_have_the_shares_of_brute_force(keenness: float) -> None:
    """20,000 draws against the exact shares: chi-square does not tell them apart."""
    rng = np.random.default_rng(4)
    classes = np.array([0, 1, 2])
    boundary = Boundary(
        leaving=classes,
        entering=classes,
        bits=np.array([[0.5, 1.0, np.inf], [2.0, 0.0, 1.5], [0.0, 0.3, 1.0]]),
        same=np.eye(3, dtype=bool),
    )
    even = lay_tally([[0, 1, 1]] * 4, 0, lambda state, _, symbol: (state + symbol) % 2, lambda state: state == 0)
    lattice = Lattice(
        own=tuple(rng.integers(0, 20, 3) / 10 for _ in range(4)), boundaries=(boundary,) * 3, tallies=(even,)
    )
    paths = all_paths(lattice)
    weights = np.array([2.0 ** (-keenness * bits) for bits, _ in paths])
    drawn = Counter(draw_paths(look_ahead(lattice, keenness=keenness), Random(1), how_many=20_000))
    assert set(drawn) <= {path for _, path in paths}
    counted = [drawn[path] for _, path in paths]
    assert chisquare(counted, 20_000 * weights / weights.sum()).pvalue > 0.01


def test_very_keen_draws_take_the_best() -> None:
    """At high keenness nothing underflows: the best path is drawn, however long the chain."""
    classes = np.arange(3)
    boundary = Boundary(leaving=classes, entering=classes, bits=np.full((3, 3), 1.0), same=np.zeros((3, 3), dtype=bool))
    own = np.array([50.0, 30.0, 40.0])
    lattice = Lattice(own=(own,) * 200, boundaries=(boundary,) * 199)
    to_go = look_ahead(lattice, keenness=100.0)
    assert draw_paths(to_go, Random(3), how_many=3) == [(1,) * 200] * 3
    assert next(iter(best_paths(to_go)))[1] == (1,) * 200


def test_a_long_chain_of_many_choices_keeps_its_crowds() -> None:
    """128 slots of 500 alike choices: each is drawn as often as any other."""
    flat = np.zeros(500, dtype=np.int64)
    boundary = Boundary(leaving=flat, entering=flat, bits=np.zeros((1, 1)), same=np.zeros((1, 1), dtype=bool))
    lattice = Lattice(own=(np.zeros(500),) * 128, boundaries=(boundary,) * 127)
    drawn = draw_paths(look_ahead(lattice, keenness=0.0), Random(5), how_many=200)
    counted = np.bincount(np.array(drawn).ravel() // 50, minlength=10)
    assert chisquare(counted).pvalue > 0.01


def test_only_as_many_best_paths_as_asked_are_worked_out() -> None:
    """The search is lazy: the first few of 500 ** 16 paths come at once."""
    rng = np.random.default_rng(1)
    flat = np.zeros(500, dtype=np.int64)
    boundary = Boundary(leaving=flat, entering=flat, bits=np.zeros((1, 1)), same=np.zeros((1, 1), dtype=bool))
    lattice = Lattice(own=tuple(rng.random(500) for _ in range(16)), boundaries=(boundary,) * 15)
    found = list(islice(best_paths(look_ahead(lattice)), 5))
    assert found[0][0] == pytest.approx(sum(own.min() for own in lattice.own))
    assert [bits for bits, _ in found] == sorted(bits for bits, _ in found)

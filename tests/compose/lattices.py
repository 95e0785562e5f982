"""Small random composing problems, and every path of them."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
from hypothesis import strategies as st

from phrasewright.compose.lattice import Boundary, Lattice, lay_tally


@st.composite
def lattices(draw: st.DrawFn, *, most_slots: int = 4, most_choices: int = 4) -> Lattice:
    """Any small lattice: choices that may not be on offer, forbidden pairs, kinds that run on, up to two tallies."""
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    sizes = [draw(st.integers(1, most_choices)) for _ in range(draw(st.integers(1, most_slots)))]
    own = [np.where(rng.random(size) < 0.1, np.inf, rng.integers(0, 40, size) / 10) for size in sizes]
    boundaries = []
    for before, after in pairwise(sizes):
        leaving, entering = rng.integers(0, 3, before), rng.integers(0, 3, after)
        shape = (int(leaving.max()) + 1, int(entering.max()) + 1)
        bits = np.where(rng.random(shape) < 0.15, np.inf, rng.integers(0, 40, shape) / 10)
        boundaries.append(Boundary(leaving=leaving, entering=entering, bits=bits, same=rng.random(shape) < 0.4))
    tallies = [_tally(rng, sizes) for _ in range(draw(st.integers(0, 2)))]
    return Lattice(
        own=tuple(own), boundaries=tuple(boundaries), tallies=tuple(tallies), longest_run=draw(st.integers(1, 3))
    )


def _tally(rng: np.random.Generator, sizes: list[int]):
    table = rng.integers(-1, 3, (3, 2))  # three states, two symbols; -1 breaks the rule
    table = np.where(rng.random(table.shape) < 0.5, np.maximum(table, 0), table)
    good = rng.random(3) < 0.8
    symbols = [[int(symbol) for symbol in rng.integers(0, 2, size)] for size in sizes]

    def step(state, _slot, symbol):
        after = int(table[state, symbol])
        return None if after < 0 else after

    return lay_tally(symbols, 0, step, lambda state: bool(good[state]))


def all_paths(lattice: Lattice) -> list[tuple[float, tuple[int, ...]]]:
    """Every path that keeps the rules with its bits, cheapest first: brute force."""
    paths = product(*(range(len(own)) for own in lattice.own))
    costed = [(lattice.bits_of(path), path) for path in paths]
    return sorted((bits, path) for bits, path in costed if np.isfinite(bits))

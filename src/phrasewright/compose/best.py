"""The best paths of a lattice, one after another, exactly.

Best-first search with what is really to go as its bound, so that it never takes a step that does not lead to one of
the paths asked for. A situation's choices are put in order once and handed out one at a time (Hart, Nilsson and
Raphael 1968 for the search; the lazy successors are common practice). The rules' automata are deterministic, so no
path comes twice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.compose.to_go import ToGo

if TYPE_CHECKING:
    from phrasewright.compose.lattice import Floats, Ints


EQUAL_DIGITS = 9  # bits that differ by less are equal: sums taken in another order differ so


@dataclass(frozen=True, slots=True, eq=False)
class _Situation:
    """The choices of a slot after a beginning. bits: in all, of the best path through each, in rising order."""

    slot: int
    path: tuple[int, ...]
    spent: float
    order: Ints
    bits: Floats
    run: Ints
    state: Ints


def best_paths(to_go: ToGo) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Every path that keeps the rules with its bits, cheapest first; first listed wins a tie."""
    turn = count()
    heap: list[tuple[float, int, int, int, _Situation]] = []  # equal bits: the longer beginning first

    def offer(situation: _Situation, rank: int) -> None:
        if rank < len(situation.order) and np.isfinite(situation.bits[rank]):
            bits = round(float(situation.bits[rank]), EQUAL_DIGITS)
            heappush(heap, (bits, -situation.slot, next(turn), rank, situation))

    offer(_situation(to_go, (), 0.0, 0, 0), 0)
    while heap:
        _, _, _, rank, here = heappop(heap)
        offer(here, rank + 1)
        choice = int(here.order[rank])
        path = (*here.path, choice)
        if len(path) == len(to_go.stages):
            yield float(here.bits[rank]), path
            continue
        run, state = int(here.run[choice]), int(here.state[choice])
        spent = here.spent + _step_bits(to_go, here, choice)
        offer(_situation(to_go, path, spent, run, state), 0)


def _situation(to_go: ToGo, path: tuple[int, ...], spent: float, run: int, state: int) -> _Situation:
    slot = len(path)
    leaving = to_go.lattice.boundaries[slot - 1].leaving[path[-1]] if slot else 0
    one = np.array([run]), np.array([state]), np.array([leaving])
    bits, _, runs, states = to_go.follow(slot, *one)
    order = np.argsort(bits[0], kind="stable")
    return _Situation(slot, path, spent, order, spent + bits[0][order], runs[0], states[0])


def _step_bits(to_go: ToGo, here: _Situation, choice: int) -> float:
    bits = float(to_go.lattice.own[here.slot][choice])
    if here.slot:
        boundary = to_go.lattice.boundaries[here.slot - 1]
        bits += float(boundary.bits[boundary.leaving[here.path[-1]], boundary.entering[choice]])
    return bits

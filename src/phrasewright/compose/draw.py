"""Drawing paths of a lattice by chance, each with exactly the share that its bits give it.

A path's chance is proportional to ``2 ** (-keenness * bits)`` among all paths that keep the rules. The messages to
go are known, so every slot's choice is drawn once and never taken back. Many paths are drawn side by side.
"""

from __future__ import annotations

from random import Random

import numpy as np

from phrasewright.compose.to_go import ToGo, chance_of


def draw_paths(to_go: ToGo, rng: Random, *, how_many: int = 1) -> list[tuple[int, ...]]:
    """``how_many`` independent paths that keep every rule. Raises ValueError when there is none."""
    if not to_go.possible:
        raise ValueError("no path keeps all rules")
    run = state = leaving = np.zeros(how_many, dtype=np.int64)
    drawn: list[np.ndarray] = []
    each = np.arange(how_many)
    for slot in range(len(to_go.stages)):
        bits, crowd, runs, states = to_go.follow(slot, run, state, leaving)
        excess = bits - bits.min(axis=1, keepdims=True)
        heap = np.cumsum(chance_of(excess, to_go.keenness) * crowd, axis=1)
        mark = np.array([rng.random() for _ in each])[:, None] * heap[:, -1:]
        choice = np.minimum((heap <= mark).sum(axis=1), heap.shape[1] - 1)
        drawn.append(choice)
        run, state = runs[each, choice], states[each, choice]
        if slot + 1 < len(to_go.stages):
            leaving = to_go.lattice.boundaries[slot].leaving[choice]
    return [tuple(int(choice) for choice in path) for path in np.stack(drawn, axis=1)]

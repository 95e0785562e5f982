"""Exact search through layers: the path with the highest sum, or the one whose worst step is smallest.

The second is the minimax fingering of Hori & Sagayama (sources 4): first the smallest bound that some path keeps,
then the highest sum among the paths that keep it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from phrasewright.neck.fingering.moments import Floats


def best_path(layers: Sequence[Floats], steps: Iterable[Floats]) -> list[int]:
    """Indexes of the states with the highest sum of scores.

    layers: one array of state scores for each note; steps: score (from, to) of each move between neighbouring
    layers, -inf for none. Of equals the lower index. Raises ValueError when no path is finite.
    """
    total = layers[0]
    came_from: list[np.ndarray[tuple[int], np.dtype[np.intp]]] = []
    for layer, step in zip(layers[1:], steps, strict=True):
        arriving = total[:, None] + step
        best = arriving.argmax(axis=0)
        came_from.append(best)
        total = arriving[best, np.arange(len(best))] + layer
    state = int(total.argmax())
    if not np.isfinite(total[state]):
        raise ValueError("no path is possible")
    path = [state]
    for best in reversed(came_from):
        path.append(int(best[path[-1]]))
    return path[::-1]


def smallest_worst(efforts: Iterable[Floats], first: Floats) -> float:
    """The smallest bound within which some path keeps every effort; first: of the states of the first layer."""
    worst = first
    for effort in efforts:
        worst = np.maximum(worst[:, None], effort).min(axis=0)
    return float(worst.min())

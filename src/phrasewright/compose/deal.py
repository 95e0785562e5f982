"""Dealing: giving each taker another thing so that the sum of the worths is highest, exactly.

The assignment problem, solved by shortest augmenting paths with prices (Kuhn, *Naval Research Logistics Quarterly* 2,
1955, in the form of Jonker and Volgenant, *Computing* 38, 1987; from memory). A shelf has at most 26 letters, so a
round of turns is dealt in half a millisecond; to load a library for it takes longer than to plan the whole lesson.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

_NOBODY = -1


def deal(worths: Sequence[Sequence[float]]) -> list[int]:
    """For each row the column it gets, no column twice, with the highest sum. Raises ValueError for too few columns."""
    columns = len(worths[0]) if worths else 0
    if len(worths) > columns:
        raise ValueError(f"{columns} things cannot be dealt to {len(worths)} takers")
    row_price, column_price = [0.0] * len(worths), [0.0] * columns
    taker = [_NOBODY] * columns
    for row in range(len(worths)):
        _seat(row, worths, row_price, column_price, taker)
    dealt = {row: column for column, row in enumerate(taker)}
    return [dealt[row] for row in range(len(worths))]


def _seat(
    newcomer: int,
    worths: Sequence[Sequence[float]],
    row_price: list[float],
    column_price: list[float],
    taker: list[int],
) -> None:
    """Give the newcomer a column, moving earlier takers on along the path that costs least."""
    columns = range(len(taker))
    loss = [inf] * len(taker)  # of the cheapest path that ends at each column
    via = [_NOBODY] * len(taker)  # the column before it on that path
    open_columns = set(columns)
    row, here, lost = newcomer, _NOBODY, 0.0
    while True:
        for column in open_columns:
            step = lost - worths[row][column] - row_price[row] - column_price[column]
            if step < loss[column]:
                loss[column], via[column] = step, here
        here = min(open_columns, key=lambda column: loss[column])
        open_columns.remove(here)
        lost = loss[here]
        if taker[here] == _NOBODY:
            break
        row = taker[here]
    row_price[newcomer] += lost
    for column in columns:
        if column not in open_columns and column != here:
            row_price[taker[column]] += lost - loss[column]
            column_price[column] -= lost - loss[column]
    while here != _NOBODY:
        before = via[here]
        taker[here] = newcomer if before == _NOBODY else taker[before]
        here = before

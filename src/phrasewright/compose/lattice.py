"""The numbers of a composing problem: slots of choices, what they cost, and what hard rules make of them.

A *lattice* has a slot for each phrase. A choice costs bits of its own; two neighbours cost bits together, by the class
in which one leaves and the other enters, so that hundreds of choices need only a small table. Infinity is forbidden.
Rules that must remember more than the choice before are *tallies*: finite automata that read a symbol of each
choice. How often one kind of choice has run already is kept beside them, because it is known from the pair.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Flags = NDArray[np.bool_]

DEAD = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boundary:
    """Between two neighbouring slots.

    leaving: (choices before,), entering: (choices after,): classes; bits: (leaving classes, entering classes), inf =
    forbidden; same: of that shape, True where the two count as one kind running on.
    """

    leaving: Ints
    entering: Ints
    bits: Floats
    same: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tally:
    """An automaton laid out over the slots.

    says: for each slot the symbol that each choice says, (choices,); moves: for each slot (states there, symbols) ->
    state after it, ``DEAD`` where the rule is broken. It begins in state 0. accepts: (states after the last slot,).
    """

    says: tuple[Ints, ...]
    moves: tuple[Ints, ...]
    accepts: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """own: bits of each choice, for each slot, inf = not on offer; longest_run: neighbours of one kind, >= 1."""

    own: tuple[Floats, ...]
    boundaries: tuple[Boundary, ...]
    tallies: tuple[Tally, ...] = ()
    longest_run: int = 2

    def __post_init__(self) -> None:
        if not self.own or any(not len(bits) for bits in self.own):
            raise ValueError("every slot needs at least one choice")
        if len(self.boundaries) != len(self.own) - 1:
            raise ValueError(f"{len(self.own)} slots have {len(self.own) - 1} boundaries, got {len(self.boundaries)}")

    def bits_of(self, path: Sequence[int]) -> float:
        """What a path costs in all, infinity when it breaks a rule. path: a choice of each slot."""
        total = sum(float(own[choice]) for own, choice in zip(self.own, path, strict=True))
        run = 1
        for boundary, before, after in zip(self.boundaries, path, path[1:], strict=False):
            pair = boundary.leaving[before], boundary.entering[after]
            total += float(boundary.bits[pair])
            run = run + 1 if boundary.same[pair] else 1
            if run > self.longest_run:
                return float("inf")
        return total if all(_keeps(tally, path) for tally in self.tallies) else float("inf")


def _keeps(tally: Tally, path: Sequence[int]) -> bool:
    state = 0
    for says, moves, choice in zip(tally.says, tally.moves, path, strict=True):
        state = int(moves[state, says[choice]])
        if state == DEAD:
            return False
    return bool(tally.accepts[state])


def lay_tally(
    symbols: Sequence[Sequence[Hashable]],
    start: Hashable,
    step: Callable[[Hashable, int, Hashable], Hashable | None],
    accepts: Callable[[Hashable], bool],
) -> Tally:
    """An automaton by its rule, laid out over the slots: only states that can be reached are kept.

    symbols: what each choice of each slot says to it; step: (state, slot, symbol) -> next state, None = broken.
    """
    states: list[Hashable] = [start]
    says, moves = [], []
    for slot, said in enumerate(symbols):
        kinds = list(dict.fromkeys(said))
        column = {symbol: number for number, symbol in enumerate(kinds)}
        reached: dict[Hashable, int] = {}
        table = np.full((len(states), len(kinds)), DEAD, dtype=np.int64)
        for row, state in enumerate(states):
            for symbol, number in column.items():
                after = step(state, slot, symbol)
                if after is not None:
                    table[row, number] = reached.setdefault(after, len(reached))
        says.append(np.array([column[symbol] for symbol in said], dtype=np.int64))
        moves.append(table)
        states = list(reached) or [start]
    return Tally(
        says=tuple(says), moves=tuple(moves), accepts=np.array([accepts(state) for state in states], dtype=np.bool_)
    )

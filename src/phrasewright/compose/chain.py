"""The best path through a chain of slots, exactly.

Every slot offers choices; a choice has a worth of its own and a worth after the choice before it. The best sum is
found by dynamic programming (Viterbi) over choices x how often the same kind of choice has run already, so that
"never the same motif three times running" is a rule and not a wish. The parts (worth, join, run rule) stand apart,
so that another way of walking the same chain can use them.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Choice = TypeVar("Choice")
_State = tuple[int, int]  # index of the choice in its slot, length of the run it ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain(Generic[Choice]):
    """slots: the choices of each; worth(slot, choice) and join(before, after): higher is better.

    kind: what may not run on and on. longest_run: how many neighbouring slots may share a kind, >= 1.
    """

    slots: Sequence[Sequence[Choice]]
    worth: Callable[[int, Choice], float]
    join: Callable[[Choice, Choice], float]
    kind: Callable[[Choice], Hashable]
    longest_run: int = 2


def best_path(chain: Chain[Choice]) -> tuple[Choice, ...]:
    """The choices with the highest sum of worths and joins that keep the run rule; first listed wins a tie.

    Where the rule cannot be kept (a slot with one kind only), the run is broken off and the rule counts anew.
    Raises ValueError when a slot has no choice.
    """
    if any(not choices for choices in chain.slots):
        raise ValueError("a slot has no choice")
    if not chain.slots:
        return ()
    best: dict[_State, float] = {(i, 1): chain.worth(0, choice) for i, choice in enumerate(chain.slots[0])}
    trace: list[dict[_State, _State]] = []
    for slot in range(1, len(chain.slots)):
        best, came_from = _advance(chain, slot, best)
        trace.append(came_from)
    return _walk_back(chain, best, trace)


def _advance(
    chain: Chain[Choice], slot: int, best: dict[_State, float]
) -> tuple[dict[_State, float], dict[_State, _State]]:
    reached: dict[_State, float] = {}
    came_from: dict[_State, _State] = {}
    before_choices, choices = chain.slots[slot - 1], chain.slots[slot]
    stuck = len({chain.kind(choice) for choice in (*before_choices, *choices)}) == 1
    for index, choice in enumerate(choices):
        own = chain.worth(slot, choice)
        for state, value in best.items():
            before = before_choices[state[0]]
            run = state[1] + 1 if chain.kind(before) == chain.kind(choice) else 1
            if run > chain.longest_run:
                if not stuck:
                    continue
                run = 1
            total = value + own + chain.join(before, choice)
            if total > reached.get((index, run), float("-inf")):
                reached[index, run] = total
                came_from[index, run] = state
    if not reached:
        raise ValueError("no path keeps the run rule")
    return reached, came_from


def _walk_back(
    chain: Chain[Choice], best: dict[_State, float], trace: list[dict[_State, _State]]
) -> tuple[Choice, ...]:
    state = max(best, key=lambda key: best[key])
    path = [state]
    for came_from in reversed(trace):
        state = came_from[state]
        path.append(state)
    return tuple(choices[index] for choices, (index, _) in zip(chain.slots, reversed(path), strict=True))

"""What a rule may ask: of one choice, of a choice and the next, or of all choices in order."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from phrasewright.compose.board import Board
from phrasewright.compose.slots import Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation:
    """What must hold between a choice and the next. of: what is read off each; holds: (before, after) -> whether."""

    of: Callable[[Candidate], Hashable]
    holds: Callable[[Hashable, Hashable], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Counting:
    """What is remembered from choice to choice.

    symbol: what a choice of a slot says; step: (state, slot, symbol) -> next state, None when the rule is broken;
    accepts: whether a state may stand at the end.
    """

    start: Hashable
    symbol: Callable[[int, Candidate], Hashable]
    step: Callable[[Hashable, int, Hashable], Hashable | None]
    accepts: Callable[[Hashable], bool]


class Rule:
    """A rule; by itself it forbids nothing. A rule says what it asks in ``words``."""

    __slots__ = ()

    @property
    def words(self) -> str:
        """The rule as a clause: ``every motif comes at least once``."""
        raise NotImplementedError

    def allows(self, _board: Board, _slot: int, _candidate: Candidate) -> bool:
        """Whether a choice may stand in a slot."""
        return True

    def relations(self, _board: Board, _slot: int) -> tuple[Relation, ...]:
        """What must hold between a slot and the next one; small ones together are quicker than a large one."""
        return ()

    def counting(self, _board: Board) -> Counting | None:
        """What must hold of all choices in order."""
        return None

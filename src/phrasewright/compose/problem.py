"""From a board, its costs and rules to a lattice of numbers."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.compose.board import Board
from phrasewright.compose.costs import Costs
from phrasewright.compose.lattice import Boundary, Lattice, Tally, lay_tally
from phrasewright.compose.rules.rule import Relation, Rule
from phrasewright.compose.rules.total import LongestRun
from phrasewright.compose.slots import Candidate

if TYPE_CHECKING:
    from phrasewright.compose.lattice import Flags, Ints

_Offer = tuple[Candidate, ...]


def lattice_of(costs: Costs, rules: Sequence[Rule]) -> Lattice:
    """The lattice in which the paths that keep all rules have finite bits."""
    board = costs.board
    runs = [rule.times for rule in rules if isinstance(rule, LongestRun)]
    pairs = _Pairs(costs, rules, counts_runs=bool(runs))
    tallies = (_tally(rule, board) for rule in rules)
    return Lattice(
        own=tuple(
            np.array([_own_bits(costs, rules, slot, candidate) for candidate in offer])
            for slot, offer in enumerate(board.offers)
        ),
        boundaries=tuple(pairs.boundary(slot) for slot in range(len(board.offers) - 1)),
        tallies=tuple(tally for tally in tallies if tally is not None),
        longest_run=min(runs, default=1),
    )


def _own_bits(costs: Costs, rules: Sequence[Rule], slot: int, candidate: Candidate) -> float:
    if not all(rule.allows(costs.board, slot, candidate) for rule in rules):
        return float("inf")
    return costs.own(slot, candidate).bits


def _tally(rule: Rule, board: Board) -> Tally | None:
    counting = rule.counting(board)
    if counting is None:
        return None
    symbols = [[counting.symbol(slot, candidate) for candidate in offer] for slot, offer in enumerate(board.offers)]
    return lay_tally(symbols, counting.start, counting.step, counting.accepts)


class _Pairs:
    """Boundaries, each kind of them worked out once: offers repeat from slot to slot."""

    def __init__(self, costs: Costs, rules: Sequence[Rule], *, counts_runs: bool) -> None:
        self.costs, self.rules, self.counts_runs = costs, rules, counts_runs
        self.made: dict[Hashable, Boundary] = {}

    def boundary(self, slot: int) -> Boundary:
        """Between a slot and the next."""
        board = self.costs.board
        before, after = board.offers[slot], board.offers[slot + 1]
        asked = {number: rule.relations(board, slot) for number, rule in enumerate(self.rules)}
        key = (id(before), id(after), tuple(number for number, relations in asked.items() if relations))
        if key not in self.made:
            self.made[key] = self._boundary(before, after, [one for some in asked.values() for one in some])
        return self.made[key]

    def _boundary(self, before: _Offer, after: _Offer, relations: Sequence[Relation]) -> Boundary:
        leaving = _Classes(before, [_motif, *(relation.of for relation in relations)])
        entering = _Classes(after, [_motif, *(relation.of for relation in relations)])
        ends, starts = leaving.examples(), entering.examples()
        joins = np.array([[self.costs.joined(one, other).bits for other in starts] for one in ends])
        same = np.array([[self.counts_runs and one.letter == other.letter for other in starts] for one in ends])
        bits = joins[np.ix_(leaving.part(0), entering.part(0))]
        for number, relation in enumerate(relations, start=1):
            holds = _table(relation, leaving.keys(number), entering.keys(number))
            bits = np.where(holds[np.ix_(leaving.part(number), entering.part(number))], bits, np.inf)
        return Boundary(
            leaving=leaving.of_choice,
            entering=entering.of_choice,
            bits=bits,
            same=same[np.ix_(leaving.part(0), entering.part(0))],
        )  # fmt: skip


def _table(relation: Relation, leaving: Sequence[Hashable], entering: Sequence[Hashable]) -> Flags:
    return np.array([[relation.holds(one, other) for other in entering] for one in leaving], dtype=np.bool_)


def _motif(candidate: Candidate) -> Hashable:
    return candidate.letter, candidate.phrase.motif.steps


class _Classes:
    """Candidates sorted into classes by several keys at once."""

    def __init__(self, offer: _Offer, keys: Sequence[Callable[[Candidate], Hashable]]) -> None:
        self._offer = offer
        self._keys: list[dict[Hashable, int]] = []
        columns = []
        for key in keys:
            number: dict[Hashable, int] = {}
            columns.append([number.setdefault(key(candidate), len(number)) for candidate in offer])
            self._keys.append(number)
        self._rows, classes = np.unique(np.array(columns, dtype=np.int64).T, axis=0, return_inverse=True)
        self.of_choice: Ints = classes.reshape(-1)

    def part(self, key: int) -> Ints:
        """For every class the number of its value of one key."""
        part: Ints = self._rows[:, key]
        return part

    def keys(self, key: int) -> list[Hashable]:
        """The values of one key, by number."""
        return list(self._keys[key])

    def examples(self) -> list[Candidate]:
        """A candidate for every value of the first key, by number."""
        first = self.part(0)[self.of_choice]
        return [self._offer[int(np.argmax(first == number))] for number in range(len(self._keys[0]))]

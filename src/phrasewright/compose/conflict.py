"""Rules that cannot be kept together: found before anything is drawn, and the fewest of them named."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from phrasewright.compose.board import Board
from phrasewright.compose.costs import Costs, Weights
from phrasewright.compose.problem import lattice_of
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.to_go import look_ahead
from phrasewright.errors import PhrasewrightError


class RuleConflictError(PhrasewrightError):
    """No study keeps these rules together. rules: as few as possible."""

    exit_code = 2

    def __init__(self, rules: Sequence[Rule]) -> None:
        self.rules = tuple(rules)
        clauses = [rule.words for rule in rules]
        if len(clauses) == 1:
            what = f"no study can keep the rule that {clauses[0]}"
            hint = "Take the rule out, or offer other motifs, counts or bars."
        else:
            what = f"no study can keep these rules together: {'; '.join(clauses)}"
            hint = "Take one of them out, or offer other motifs, counts or bars."
        super().__init__(what, hint=hint)


def fails(board: Board, rules: Sequence[Rule]) -> bool:
    """Whether no study on a board keeps these rules together."""
    free = Costs(board=board, weights=Weights())
    return not look_ahead(lattice_of(free, rules), keenness=0.0).possible


def smallest_conflict(board: Board, rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """The fewest rules that cannot be kept together, first listed of equals; empty when all can.

    A set that conflicts is first thinned rule by rule, which bounds the size; then every smaller set is tried.
    """
    if not fails(board, rules):
        return ()
    thinned = list(rules)
    for rule in rules:
        rest = [one for one in thinned if one is not rule]
        if fails(board, rest):
            thinned = rest
    for size in range(1, len(thinned)):
        for some in combinations(rules, size):
            if fails(board, some):
                return some
    return tuple(thinned)

"""Which rule a line of phrases breaks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.total import LongestRun
from phrasewright.compose.slots import Candidate


def broken_rule(rules: Sequence[Rule], board: Board, line: Sequence[Candidate]) -> Rule | None:
    """The first of the rules that the line, a phrase for every slot, does not keep; None when it keeps them all."""
    return next((rule for rule in rules if not _keeps(rule, board, line)), None)


def _keeps(rule: Rule, board: Board, line: Sequence[Candidate]) -> bool:
    if not all(rule.allows(board, slot, candidate) for slot, candidate in enumerate(line)):
        return False
    for slot, (before, after) in enumerate(pairwise(line)):
        if not all(one.holds(one.of(before), one.of(after)) for one in rule.relations(board, slot)):
            return False
    if isinstance(rule, LongestRun):
        return all(len(list(run)) <= rule.times for _, run in groupby(line, lambda candidate: candidate.letter))
    counting = rule.counting(board)
    if counting is None:
        return True
    state = counting.start
    for slot, candidate in enumerate(line):
        after_it = counting.step(state, slot, counting.symbol(slot, candidate))
        if after_it is None:
            return False
        state = after_it
    return counting.accepts(state)

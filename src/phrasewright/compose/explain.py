"""Reasons for the phrases of a path: the numbers that decided each, and what came second in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction

import numpy as np

from phrasewright.compose.costs import Costs, Parts
from phrasewright.compose.lattice import Lattice
from phrasewright.compose.reason import Reason, RunnerUp
from phrasewright.compose.rules.broken import broken_rule
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.slots import Candidate
from phrasewright.melody.phrase import Phrase


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A phrase in its slot and why it is there. bar: from 0; letter: its label, ``A′`` with another ending."""

    bar: int
    bars: int
    letter: str
    phrase: Phrase
    reason: Reason


def explain(costs: Costs, rules: Sequence[Rule], lattice: Lattice, path: Sequence[int]) -> tuple[Placed, ...]:
    """The phrases of a path with their reasons. lattice: of the costs and the rules."""
    board = costs.board
    line = [offer[choice] for offer, choice in zip(board.offers, path, strict=True)]
    placed = []
    for index, (slot, candidate) in enumerate(zip(board.slots, line, strict=True)):
        before = line[index - 1] if index else None
        runner_up = _runner_up(costs, lattice, line, path, index)
        rest = board.material.length(slot.bar, slot.bars) - candidate.phrase.count.end
        reason = Reason(
            bar=slot.bar,
            letter=candidate.item.letter,
            fit=board.fit(index, candidate),
            interval_semitones=_interval(before, candidate),
            repeats=before is not None and before.letter == candidate.letter,
            rest=Fraction(rest),
            rest_bars=Fraction(rest) / board.material.meter.bar,
            parts=_parts(costs, line, index, candidate),
            runner_up=runner_up,
            kept_out=None if runner_up else _kept_out(costs, rules, line, index),
        )
        placed.append(
            Placed(bar=slot.bar, bars=slot.bars, letter=candidate.item.letter, phrase=candidate.phrase, reason=reason)
        )
    return tuple(placed)


def _interval(before: Candidate | None, after: Candidate) -> int | None:
    if before is None:
        return None
    return after.phrase.motif.notes[0].pitch.midi - before.phrase.motif.notes[-1].pitch.midi


def _parts(costs: Costs, line: Sequence[Candidate], index: int, candidate: Candidate) -> Parts:
    """What a candidate costs in a place of the line: by itself, after the phrase before, and to the one after."""
    parts = [costs.own(index, candidate)]
    if index:
        parts.append(costs.joined(line[index - 1], candidate))
    if index + 1 < len(line):
        parts.append(costs.joined(candidate, line[index + 1]))
    return Parts(**{one.name: sum(getattr(part, one.name) for part in parts) for one in fields(Parts)})


def _runner_up(
    costs: Costs, lattice: Lattice, line: Sequence[Candidate], path: Sequence[int], index: int
) -> RunnerUp | None:
    """The cheapest other motif for one place that keeps every rule with the rest of the path as it is."""
    offer = costs.board.offers[index]
    for choice in np.argsort(_local_bits(lattice, path, index), kind="stable"):
        candidate = offer[int(choice)]
        if candidate.letter == line[index].letter:
            continue
        changed = [*path[:index], int(choice), *path[index + 1 :]]
        if np.isfinite(lattice.bits_of(changed)):
            return RunnerUp(
                letter=candidate.item.letter,
                count=candidate.phrase.count.text,
                parts=_parts(costs, line, index, candidate),
                fit=costs.board.fit(index, candidate),
                interval_semitones=_interval(line[index - 1] if index else None, candidate),
            )
        if not np.isfinite(lattice.own[index][int(choice)]):
            return None
    return None


def _kept_out(costs: Costs, rules: Sequence[Rule], line: Sequence[Candidate], index: int) -> tuple[str, str] | None:
    """The other motif that would cost least in a place, and the rule it would break there."""
    others = [one for one in costs.board.offers[index] if one.letter != line[index].letter]
    if not others:
        return None
    best = min(others, key=lambda one: _parts(costs, line, index, one).bits)
    rule = broken_rule(rules, costs.board, [*line[:index], best, *line[index + 1 :]])
    return None if rule is None else (best.item.letter, rule.words)


def _local_bits(lattice: Lattice, path: Sequence[int], index: int) -> np.ndarray:
    """Bits of every choice of a slot beside its neighbours on the path."""
    bits = lattice.own[index].copy()
    if index:
        boundary = lattice.boundaries[index - 1]
        bits += boundary.bits[boundary.leaving[path[index - 1]], boundary.entering]
    if index + 1 < len(path):
        boundary = lattice.boundaries[index]
        bits += boundary.bits[boundary.leaving, boundary.entering[path[index + 1]]]
    return bits

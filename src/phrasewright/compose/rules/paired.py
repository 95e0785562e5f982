"""Rules about a phrase and the next: question and answer, the same again with another ending."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Relation, Rule
from phrasewright.compose.slots import Candidate


@dataclass(frozen=True, slots=True)
class QuestionAndAnswer(Rule):
    """Phrases go in pairs: the second has the count of the first and ends on another note."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every second phrase answers the one before: the same count, another last note"

    def relations(self, _board: Board, slot: int) -> tuple[Relation, ...]:
        """From the first of a pair to the second."""
        return () if slot % 2 else (_alike(_count), _unlike(_end))


@dataclass(frozen=True, slots=True)
class AnotherEnding(Rule):
    """Phrases go in pairs: the second is the first again with another last note."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every second phrase is the one before with another last note"

    def relations(self, _board: Board, slot: int) -> tuple[Relation, ...]:
        """From the first of a pair to the second."""
        return () if slot % 2 else (_alike(_count), _alike(_beginning), _unlike(_end))


def _alike(of: Callable[[Candidate], Hashable]) -> Relation:
    return Relation(of=of, holds=lambda before, after: before == after)


def _unlike(of: Callable[[Candidate], Hashable]) -> Relation:
    return Relation(of=of, holds=lambda before, after: before != after)


def _count(candidate: Candidate) -> str:
    return candidate.phrase.count.text


def _beginning(candidate: Candidate) -> tuple[int, ...]:
    return candidate.phrase.motif.steps[:-1]


def _end(candidate: Candidate) -> int:
    return candidate.phrase.motif.notes[-1].pitch.midi

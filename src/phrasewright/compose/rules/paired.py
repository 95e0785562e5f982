"""Rules about a phrase and the next: question and answer, the same again with another ending, rising to a peak."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import cast

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Relation, Rule
from phrasewright.compose.rules.single import Spot
from phrasewright.compose.slots import Candidate


@dataclass(frozen=True, slots=True)
class QuestionAndAnswer(Rule):
    """Phrases go in pairs: the second has the count of the first and ends on another note."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every second phrase answers the one before: the same count, another last note"

    def relation(self, _board: Board, slot: int) -> Relation | None:
        """From the first of a pair to the second."""
        if slot % 2:
            return None
        return Relation(leaving=_count_and_end, entering=_count_and_end, holds=_answers)


@dataclass(frozen=True, slots=True)
class AnotherEnding(Rule):
    """Phrases go in pairs: the second is the first again with another last note."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every second phrase is the one before with another last note"

    def relation(self, _board: Board, slot: int) -> Relation | None:
        """From the first of a pair to the second."""
        if slot % 2:
            return None
        return Relation(leaving=_whole, entering=_whole, holds=_changes_the_end)


@dataclass(frozen=True, slots=True)
class RiseTo(Rule):
    """The top notes of the phrases never fall until one phrase, three quarters through, reaches the peak alone."""

    spot: Spot

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"the line rises to {self.spot.words} and tops it nowhere"

    def allows(self, board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether the phrase tops out at the peak in its slot, and below it elsewhere."""
        peaks = [note.pitch.midi for note in board.material.position.notes if self.spot.is_at(note)]
        if not peaks:
            return False
        top = _top_midi(candidate)
        return top == max(peaks) if slot == peak_slot(board) else top < max(peaks)

    def relation(self, board: Board, slot: int) -> Relation | None:
        """Up to the peak no top is lower than the one before."""
        if slot >= peak_slot(board):
            return None
        return Relation(leaving=_top_midi, entering=_top_midi, holds=lambda a, b: cast(int, b) >= cast(int, a))


def peak_slot(board: Board) -> int:
    """Where a study peaks: three quarters through (common practice)."""
    return min(3 * len(board.slots) // 4, len(board.slots) - 1)


def _top_midi(candidate: Candidate) -> int:
    return max(note.pitch.midi for note in candidate.phrase.motif.notes)


def _count_and_end(candidate: Candidate) -> tuple[str, int]:
    return candidate.phrase.count.text, candidate.phrase.motif.notes[-1].pitch.midi


def _answers(question: Hashable, answer: Hashable) -> bool:
    (asked, asked_end), (said, said_end) = cast(tuple[str, int], question), cast(tuple[str, int], answer)
    return asked == said and asked_end != said_end


def _whole(candidate: Candidate) -> tuple[str, tuple[int, ...]]:
    return candidate.phrase.count.text, candidate.phrase.motif.steps


def _changes_the_end(first: Hashable, second: Hashable) -> bool:
    (count, steps), (again, others) = (
        cast(tuple[str, tuple[int, ...]], first),
        cast(tuple[str, tuple[int, ...]], second),
    )
    return count == again and steps[:-1] == others[:-1] and steps[-1] != others[-1]

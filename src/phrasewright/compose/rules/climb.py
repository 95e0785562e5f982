"""The rule of a climbing line: register rises to one peak."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.single import Spot
from phrasewright.compose.slots import Candidate

BAND_SEMITONES = 5  # a phrase's top may lie so far from the climbing line: together about a sixth (our design)


@dataclass(frozen=True, slots=True)
class ClimbTo(Rule):
    """The tops of the phrases climb from the lowest on offer to a peak that one phrase alone reaches.

    The peak stands three quarters through (common practice). Up to there every top lies within ``BAND_SEMITONES`` of a
    straight line from the lowest top to the peak; after it, anywhere below.
    """

    spot: Spot

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"the line climbs to {self.spot.words}, its one highest note"

    def allows(self, board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether the phrase tops out at the peak in its slot, below it elsewhere, and near the line before."""
        peak_midi = max(
            (note.pitch.midi for note in board.material.position.notes if self.spot.is_at(note)), default=None
        )
        if peak_midi is None:
            return False
        top, peak = top_midi(candidate), peak_slot(board)
        if slot == peak:
            return top == peak_midi
        if top >= peak_midi:
            return False
        lowest = board.lowest_top_midi
        return slot > peak or abs(top - lowest - (peak_midi - lowest) * slot / peak) <= BAND_SEMITONES


def peak_slot(board: Board) -> int:
    """Where a study peaks: three quarters through."""
    return min(3 * len(board.slots) // 4, len(board.slots) - 1)


def top_midi(candidate: Candidate) -> int:
    """The highest note of a phrase."""
    return max(note.pitch.midi for note in candidate.phrase.motif.notes)

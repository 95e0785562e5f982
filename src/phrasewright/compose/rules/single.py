"""Rules about one phrase: how it ends, how the study begins and ends, what is pinned, how hard a bar may be."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.compose.board import Board
from phrasewright.compose.difficulty import difficulty_of_phrase
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.slots import Candidate
from phrasewright.neck.place import PositionNote
from phrasewright.theory.interval import Degree


@dataclass(frozen=True, slots=True)
class Spot:
    """A note of the position by degree, in one cycle or in any."""

    degree: Degree
    cycle: int | None = None

    def is_at(self, note: PositionNote) -> bool:
        """Whether a note of the position is this one."""
        return note.degree == self.degree and self.cycle in (None, note.cycle)

    @property
    def words(self) -> str:
        """``♭3`` or ``♭3 of cycle 2``."""
        return self.degree.printed + ("" if self.cycle is None else f" of cycle {self.cycle}")


@dataclass(frozen=True, slots=True)
class EndOnChordTones(Rule):
    """Every phrase ends on a tone of the chord that holds there; where none holds it may end anywhere."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every phrase ends on a chord tone"

    def allows(self, board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether the last note is a chord tone."""
        fit = board.fit(slot, candidate)
        return fit is None or fit.landing.role.is_chord_tone


@dataclass(frozen=True, slots=True)
class EndOn(Rule):
    """Every phrase ends on one of these degrees of the scale."""

    degrees: tuple[Degree, ...]

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"every phrase ends on {' or '.join(degree.printed for degree in self.degrees)}"

    def allows(self, _board: Board, _slot: int, candidate: Candidate) -> bool:
        """Whether the last note is one of them."""
        return candidate.phrase.motif.notes[-1].degree in self.degrees


@dataclass(frozen=True, slots=True)
class BeginWith(Rule):
    """The study's first note."""

    spot: Spot

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"the first note is {self.spot.words}"

    def allows(self, _board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether a phrase in the first slot begins there."""
        return slot > 0 or self.spot.is_at(candidate.phrase.motif.notes[0])


@dataclass(frozen=True, slots=True)
class EndWith(Rule):
    """The study's last note."""

    spot: Spot

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"the last note is {self.spot.words}"

    def allows(self, board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether a phrase in the last slot ends there."""
        return slot + 1 < len(board.slots) or self.spot.is_at(candidate.phrase.motif.notes[-1])


@dataclass(frozen=True, slots=True)
class Pinned(Rule):
    """The phrase of one bar is fixed. bar: from 0; count: its text, any when empty."""

    bar: int
    letter: str
    count: str = ""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"bar {self.bar + 1} has motif {self.letter}" + (f' to "{self.count}"' if self.count else "")

    def allows(self, board: Board, slot: int, candidate: Candidate) -> bool:
        """Whether a phrase in the slot that covers the bar is the pinned one."""
        here = board.slots[slot]
        if not here.bar <= self.bar < here.bar + here.bars:
            return True
        return candidate.item.letter == self.letter and self.count in ("", candidate.phrase.count.text)


@dataclass(frozen=True, slots=True)
class NoHarderThan(Rule):
    """No phrase is harder than a level over its own bars, the rest left out."""

    level: float

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"no phrase is harder than {self.level:g}"

    def allows(self, _board: Board, _slot: int, candidate: Candidate) -> bool:
        """Whether the phrase is easy enough."""
        return difficulty_of_phrase(candidate.phrase).level <= self.level

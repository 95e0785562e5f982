"""Motifs: two to five notes of a position, without rhythm.

A motif is a walk over the notes of one position, named by their index (0 = lowest). Enumeration is complete
and its counts have closed forms (docs/sources.md 9), which the tests check.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from phrasewright.neck.place import Position, PositionNote

MIN_NOTES, MAX_NOTES = 2, 5


class Contour(StrEnum):
    """The shape of a motif's line."""

    RISING = "rising"
    FALLING = "falling"
    ARCH = "arch"  # up, then down
    DIP = "dip"  # down, then up
    WAVE = "wave"  # turns more than once
    LEVEL = "level"  # one pitch only


@dataclass(frozen=True, slots=True)
class Motif:
    """A walk over a position. steps: indices into ``position.notes``."""

    position: Position
    steps: tuple[int, ...]

    def __post_init__(self) -> None:
        if not MIN_NOTES <= len(self.steps) <= MAX_NOTES:
            raise ValueError(f"a motif has {MIN_NOTES} to {MAX_NOTES} notes, got {len(self.steps)}")
        if not all(0 <= step < len(self.position.notes) for step in self.steps):
            raise ValueError(f"motif steps {self.steps} leave a position of {len(self.position.notes)} notes")

    @property
    def notes(self) -> tuple[PositionNote, ...]:
        """The notes in playing order."""
        return tuple(self.position.notes[step] for step in self.steps)

    @property
    def moves(self) -> tuple[int, ...]:
        """Scale steps between neighbours, positive up."""
        return tuple(b - a for a, b in pairwise(self.steps))

    @property
    def intervals_semitones(self) -> tuple[int, ...]:
        """Semitones between neighbours, positive up."""
        return tuple(b.pitch.midi - a.pitch.midi for a, b in pairwise(self.notes))

    @property
    def contour(self) -> Contour:
        """Shape of the line; repeated notes do not turn it."""
        directions = [1 if move > 0 else -1 for move in self.moves if move]
        turns = sum(a != b for a, b in pairwise(directions))
        if not directions:
            return Contour.LEVEL
        if turns == 0:
            return Contour.RISING if directions[0] > 0 else Contour.FALLING
        if turns == 1:
            return Contour.ARCH if directions[0] > 0 else Contour.DIP
        return Contour.WAVE

    @property
    def cycles(self) -> tuple[int, ...]:
        """Cycles of the position it touches, rising."""
        return tuple(sorted({note.cycle for note in self.notes}))

    @property
    def degrees_text(self) -> str:
        """Degrees in playing order: ``1 ♭3 4``."""
        return " ".join(note.degree.printed for note in self.notes)

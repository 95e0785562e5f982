"""A phrase: a motif with a count and the rest that follows it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from phrasewright.melody.motif import Motif
from phrasewright.neck.place import PositionNote
from phrasewright.score.model import Note
from phrasewright.theory.count import Count


@dataclass(frozen=True, slots=True)
class Phrase:
    """A motif in time. count: one stroke for each note of the motif; rest_bars: silent bars that follow, >= 0."""

    motif: Motif
    count: Count
    rest_bars: int = 0

    def __post_init__(self) -> None:
        strokes, notes = len(self.count.strokes), len(self.motif.steps)
        if strokes != notes:
            raise ValueError(f"the count {self.count.text!r} has {strokes} notes, the motif has {notes}")
        if self.rest_bars < 0:
            raise ValueError(f"rest_bars must be >= 0, got {self.rest_bars}")

    @property
    def bars(self) -> int:
        """Whole bars it takes, rest included."""
        return self.count.bars + self.rest_bars

    @property
    def length(self) -> Fraction:
        """Time it takes in quarter notes, rest included."""
        return self.bars * self.count.meter.bar

    @property
    def space(self) -> Fraction:
        """Share of its time that is silent, 0..1."""
        return 1 - self.count.sounding / self.length

    def notes(self, at: Fraction = Fraction(0), *, label: str = "") -> tuple[Note, ...]:
        """Its score notes when it begins at ``at`` (quarter notes); the first one carries the label."""
        strokes = self.count.strokes
        return tuple(
            score_note(note, at + stroke.onset, stroke.duration, label=label if index == 0 else "")
            for index, (note, stroke) in enumerate(zip(self.motif.notes, strokes, strict=True))
        )


def score_note(note: PositionNote, onset: Fraction, duration: Fraction, *, label: str = "") -> Note:
    """A note of a position as a score note, with its place, finger and degree. Times in quarter notes."""
    return Note(
        onset=onset,
        duration=duration,
        pitch=note.pitch,
        place=note.place,
        finger=note.finger,
        degree=note.degree,
        label=label,
    )

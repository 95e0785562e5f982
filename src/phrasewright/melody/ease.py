"""How easy a line lies under the hand: strings crossed, shifts along the neck, and stretch in mm.

Plain measures of the notes as fingered; they choose nothing. A *shift* is a move of the hand by more than one
fret between two pressed notes (one fret is a stretch of index or little finger: common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.place import Position
from phrasewright.units import SEMITONES_PER_OCTAVE

SHIFT_FRETS = 1


@dataclass(frozen=True, slots=True)
class Fretted:
    """A place and the finger on it; finger 0 = open string, None = unknown (no shift is counted)."""

    place: StringFret
    finger: int | None

    @property
    def hand_fret(self) -> int | None:
        """Where the index finger would lie, None for open strings and unknown fingers."""
        return None if not self.finger else self.place.fret - self.finger + 1


def string_changes(line: Sequence[Fretted]) -> int:
    """Strings moved across from note to note, in all."""
    return sum(abs(b.place.string - a.place.string) for a, b in pairwise(line))


def shift_mm(line: Sequence[Fretted], instrument: Instrument) -> float:
    """How far the hand travels along the neck, in mm, moves of one fret left out."""
    hands = [max(note.hand_fret, 0) for note in line if note.hand_fret is not None]
    moves = ((a, b) for a, b in pairwise(hands) if abs(b - a) > SHIFT_FRETS)
    return sum(instrument.stretch_mm(a, b) for a, b in moves)


def stretch_mm(line: Sequence[Fretted], instrument: Instrument) -> float:
    """Widest distance between two neighbouring pressed notes played without a shift, in mm."""
    widest = 0.0
    for a, b in pairwise([note for note in line if note.finger != 0]):
        if a.hand_fret is None or b.hand_fret is None or abs(a.hand_fret - b.hand_fret) <= SHIFT_FRETS:
            widest = max(widest, instrument.stretch_mm(a.place.fret, b.place.fret))
    return widest


def at_the_nut(position: Position) -> float:
    """What turns mm in a position into mm as if it lay at the nut, where frets are widest.

    Choices weigh mm so: a lesson moved up the neck keeps its motifs.
    """
    return float(2 ** (position.lowest_fret / SEMITONES_PER_OCTAVE))

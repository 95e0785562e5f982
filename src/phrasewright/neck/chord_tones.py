"""Which notes of a position belong to a chord, and as what."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.neck.place import Position, PositionNote
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree


@dataclass(frozen=True, slots=True)
class ChordPlace:
    """A note of a position that a chord contains. degree: measured from the chord's root (the note has the scale's)."""

    note: PositionNote
    degree: Degree


def chord_places(position: Position, chord: Chord) -> tuple[ChordPlace, ...]:
    """The chord's tones inside a position, low to high, added notes included; empty when it has none there.

    A slash bass counts only when it is a chord tone itself.
    """
    degrees = ((note, chord.degree_of(note.pitch.midi)) for note in position.notes)
    return tuple(ChordPlace(note, degree) for note, degree in degrees if degree is not None)

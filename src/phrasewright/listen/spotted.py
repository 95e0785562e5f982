"""Motifs found in a take."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Change(StrEnum):
    """What was done to a shelf motif."""

    OCTAVE = "other octave"
    REVERSED = "reversed"
    TWICE_AS_FAST = "twice as fast"
    ONE_NOTE = "one note altered"  # or left out
    MOVED = "moved along the scale"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """A shelf motif in a take. letter: on the shelf; first, last: indices into the take's notes, both included.

    notes: indices of the notes that make it (a passing wrong note may lie between); octaves: how many up; confidence:
    0..1.
    """

    letter: str
    first: int
    last: int
    notes: tuple[int, ...]
    changes: tuple[Change, ...] = ()
    octaves: int = 0
    confidence: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnMotif:
    """A pattern the player made up and came back to. places: first note of every time; intervals: semitones."""

    intervals: tuple[int, ...]
    places: tuple[int, ...]
    same_rhythm: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spotting:
    """All motifs of a take. sightings: by first note, none overlapping another's notes by more than one note."""

    sightings: tuple[Sighting, ...]
    own: tuple[OwnMotif, ...]

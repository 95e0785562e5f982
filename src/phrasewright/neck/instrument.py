"""Fretted instruments: strings, tuning, frets, capo, scale length, and which hand frets them.

Strings are numbered as players do: 1 is the string nearest the floor (the highest on a standard guitar).
Frets count from the nut; with a capo the lowest fret that can sound is the capo's.
Fret distances follow equal temperament: d(n) = L * (1 - 2 ** (-n / 12)).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from phrasewright.theory.pitch import Pitch


class Hand(StrEnum):
    """Which hand frets the strings."""

    LEFT = "left"  # the usual build: left hand frets, right hand picks
    RIGHT = "right"  # a left-handed player's instrument


@dataclass(frozen=True, slots=True, order=True)
class StringFret:
    """A place on the neck. string: 1 = first (highest on a guitar); fret: 0 = open."""

    string: int
    fret: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """A fretted instrument. tuning: open pitches, string 1 first; capo: fret it is clamped at, 0 = none."""

    id: str
    name: str
    tuning: tuple[Pitch, ...]
    frets: int
    scale_length_mm: float
    capo: int = 0
    fretting_hand: Hand = Hand.LEFT
    written_octaves: int = 1  # octaves that notation is written above sounding pitch (guitar and bass: 1)

    def __post_init__(self) -> None:
        if not 3 <= len(self.tuning) <= 12:
            raise ValueError(f"an instrument has 3 to 12 strings, got {len(self.tuning)}")
        if not 12 <= self.frets <= 36:
            raise ValueError(f"an instrument has 12 to 36 frets, got {self.frets}")
        if not 0 <= self.capo < self.frets - 4:
            raise ValueError(f"capo must lie in 0..{self.frets - 5}, got {self.capo}")
        if not 200.0 <= self.scale_length_mm <= 1200.0:
            raise ValueError(f"scale length must lie in 200..1200 mm, got {self.scale_length_mm}")

    @property
    def strings(self) -> range:
        """String numbers, 1 first."""
        return range(1, len(self.tuning) + 1)

    def midi_at(self, place: StringFret) -> int:
        """MIDI pitch that sounds at a place. Raises ValueError off the neck or behind the capo."""
        if place.string not in self.strings or not self.capo <= place.fret <= self.frets:
            raise ValueError(f"no such place on {self.name}: string {place.string}, fret {place.fret}")
        return self.tuning[place.string - 1].midi + place.fret

    def places_of(self, pitch_midi: int) -> tuple[StringFret, ...]:
        """Every place that sounds a pitch, string 1 first."""
        places = ((string, pitch_midi - self.tuning[string - 1].midi) for string in self.strings)
        return tuple(StringFret(string, fret) for string, fret in places if self.capo <= fret <= self.frets)

    def fret_mm(self, fret: int) -> float:
        """Distance in mm from the nut to a fret."""
        return self.scale_length_mm * (1.0 - math.exp2(-fret / 12.0))

    def stretch_mm(self, low_fret: int, high_fret: int) -> float:
        """Distance in mm between two frets, >= 0."""
        return abs(self.fret_mm(high_fret) - self.fret_mm(low_fret))

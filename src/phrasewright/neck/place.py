"""A position: the notes of a scale under one placement of the hand, low to high."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import Pitch
from phrasewright.theory.scale import Scale


class PositionStyle(StrEnum):
    """How the hand lies on the neck."""

    OPEN = "open"  # open strings and the first frets
    BOX = "box"  # one hand placement at any fret
    THREE_PER_STRING = "three per string"
    ONE_STRING = "one string"


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionNote:
    """One note of a position. finger: 0 = open string, 1 index .. 4 little; cycle: 1 = lowest octave's worth."""

    place: StringFret
    finger: int
    pitch: Pitch
    degree: Degree
    cycle: int
    added: bool = False  # an optional note above or below the hand's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Notes of a scale under one hand, rising in pitch; on a one-string path the hand moves."""

    instrument: Instrument
    scale: Scale
    style: PositionStyle
    notes: tuple[PositionNote, ...]

    @property
    def lowest_fret(self) -> int:
        """Lowest fret used (open strings included)."""
        return min(note.place.fret for note in self.notes)

    @property
    def highest_fret(self) -> int:
        """Highest fret used."""
        return max(note.place.fret for note in self.notes)

    @property
    def fretted_low(self) -> int:
        """Lowest fret pressed; the capo's when all strings ring open."""
        pressed = [note.place.fret for note in self.notes if note.finger]
        return min(pressed, default=self.instrument.capo)

    @property
    def stretch_mm(self) -> float:
        """Widest distance the hand's own notes span, lowest to highest pressed fret, in mm."""
        pressed = [note.place.fret for note in self.notes if note.finger and not note.added]
        return self.instrument.stretch_mm(min(pressed), max(pressed)) if pressed else 0.0

    def note_at(self, place: StringFret) -> PositionNote | None:
        """The note at a place, None when the position has none there."""
        return next((note for note in self.notes if note.place == place), None)

    @property
    def name(self) -> str:
        """For people: ``A minor pentatonic, open position``."""
        where = {
            PositionStyle.OPEN: "open position"
            if not self.instrument.capo
            else f"capo {self.instrument.capo} position",
            PositionStyle.BOX: f"box at fret {self.fretted_low}",
            PositionStyle.THREE_PER_STRING: f"three notes per string from fret {self.lowest_fret}",
            PositionStyle.ONE_STRING: f"along string {self.notes[0].place.string}",
        }[self.style]
        return f"{self.scale.name}, {where}"

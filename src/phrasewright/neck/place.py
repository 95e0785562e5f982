"""A position: the notes of a scale under one placement of the hand, low to high."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import Pitch
from phrasewright.theory.scale import Scale

_HOME_FRETS = 4  # frets above the nut or capo that the hand covers in open position, one finger each
_NUMBERS = {2: "two", 3: "three", 4: "four"}


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
    def own_notes(self) -> tuple[PositionNote, ...]:
        """The notes under the hand, without the added ones."""
        return tuple(note for note in self.notes if not note.added)

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
        """Lowest fret the hand's own notes press; the capo's when all strings ring open."""
        return min((note.place.fret for note in self.own_notes if note.finger), default=self.instrument.capo)

    @property
    def stretch_mm(self) -> float:
        """Widest the hand must open for its own notes, in mm, as ``widest_grasp`` measures it."""
        own = self.own_notes
        low, high = widest_grasp(
            self.instrument, self.style, [note.place for note in own], [note.finger for note in own]
        )
        return self.instrument.stretch_mm(low, high)

    def note_at(self, place: StringFret) -> PositionNote | None:
        """The note at a place, None when the position has none there."""
        return next((note for note in self.notes if note.place == place), None)

    @property
    def where(self) -> str:
        """For people, without the scale: ``box at fret 5``. What a teacher would ask for to get it."""
        return describe(self.instrument, self.style, [note.place for note in self.own_notes])

    @property
    def name(self) -> str:
        """For people: ``A minor pentatonic, open position``."""
        return f"{self.scale.name}, {self.where}"


def describe(instrument: Instrument, style: PositionStyle, places: Sequence[StringFret]) -> str:
    """Where rising places lie, in words: ``open position``, ``box at fret 5``, ``along string 2`` ..."""
    first = places[0]
    match style:
        case PositionStyle.OPEN:
            return f"capo {instrument.capo} position" if instrument.capo else "open position"
        case PositionStyle.BOX:
            pressed = (place.fret for place in places if place.fret > instrument.capo)
            return f"box at fret {min(pressed, default=instrument.capo)}"
        case PositionStyle.THREE_PER_STRING:
            count = sum(place.string == first.string for place in places)
            return f"{count_word(count)} notes per string from fret {first.fret}"
        case PositionStyle.ONE_STRING:
            return f"along string {first.string} from fret {first.fret}"


def count_word(count: int) -> str:
    """Notes per string as a word: ``three``."""
    return _NUMBERS.get(count, str(count))


def widest_grasp(
    instrument: Instrument, style: PositionStyle, places: Sequence[StringFret], fingers: Sequence[int]
) -> tuple[int, int]:
    """The two frets furthest apart in mm that one grasp of the hand must cover; equal when it covers one or none.

    In a box one hand covers everything, in open position everything on its first four frets. Elsewhere the hand
    drifts: a grasp is the run of notes on one string played with rising fingers.
    """
    pressed = [(place, finger) for place, finger in zip(places, fingers, strict=True) if finger]
    if not pressed:
        return instrument.capo, instrument.capo
    if style is PositionStyle.BOX:
        frets = [place.fret for place, _ in pressed]
        return min(frets), max(frets)
    home = [place.fret for place, _ in pressed if place.fret <= instrument.capo + _HOME_FRETS]
    spans = [(min(home), max(home))] if style is PositionStyle.OPEN and home else []
    start = pressed[0]
    for before, now in pairwise([pressed[0], *pressed]):
        if now[0].string != before[0].string or now[1] < before[1] or now is pressed[0]:
            start = now
        spans.append((start[0].fret, now[0].fret))
    return max(spans, key=lambda span: instrument.stretch_mm(*span))

"""From places to a finished position: fingers, degrees, cycles, and notes added past its ends.

Cycles count octaves' worths of the scale from the position's lowest note: the first N notes of an N-tone scale are
cycle 1, the next N cycle 2. Notes added above go on counting; notes added below lie in cycle 0 (and -1, ...).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from phrasewright.errors import NeckError
from phrasewright.neck.hand import INDEX, LITTLE, HandPlace
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import scale_pitches, spell
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.theory.scale import Scale

MOST_FRETS_PAST_HAND = 5  # how far past the hand an added note may lie


def finish(
    scale: Scale, instrument: Instrument, style: PositionStyle, places: Sequence[StringFret], fingers: Sequence[int]
) -> Position:
    """A position from rising places and their fingers."""
    size = len(scale.kind.degrees)
    notes = tuple(
        spell(scale, instrument, place, finger=finger, cycle=index // size + 1)
        for index, (place, finger) in enumerate(zip(places, fingers, strict=True))
    )
    return Position(instrument=instrument, scale=scale, style=style, notes=notes)


def with_added(position: Position, hands: Mapping[int, HandPlace], *, above: int = 0, below: int = 0) -> Position:
    """The position with optional notes past its ends, the little finger (or index) reaching out for them.

    hands: where the hand lies on each string; a string without one takes its neighbour's. Raises NeckError when an
    added note lies too far from the hand or off the neck.
    """
    for step in range(above):
        position = _add(position, hands, len(position.notes), step + 1)
    for step in range(below):
        position = _add(position, hands, 0, step + 1)
    return position


def _add(position: Position, hands: Mapping[int, HandPlace], at: int, step: int) -> Position:
    instrument, scale = position.instrument, position.scale
    end = position.notes[-1] if at else position.notes[0]
    end_midi = end.pitch.midi
    around = (
        scale_pitches(scale, end_midi + 1, end_midi + 12) if at else scale_pitches(scale, end_midi - 12, end_midi - 1)
    )
    pitch_midi = around[0] if at else around[-1]
    place = _added_place(position, pitch_midi, end.place)
    if place is None:
        side, count = ("above", step) if at else ("below", step)
        raise NeckError(
            f"No room for {count} added note{'s' if count > 1 else ''} {side} {position.name}: "
            f"the next tone lies off the neck or more than {MOST_FRETS_PAST_HAND} frets past the hand.",
            alternatives=(f"{count - 1 or 'no'} added note{'s' if count != 2 else ''} {side}",),
        )
    size = len(scale.kind.degrees)
    cycle = _cycle_after(position, size) if at else _cycle_before(position, size)
    finger = _added_finger(position, hands, place)
    note = spell(scale, instrument, place, finger=finger, cycle=cycle, added=True)
    notes = (*position.notes, note) if at else (note, *position.notes)
    return Position(instrument=instrument, scale=scale, style=position.style, notes=notes)


def _cycle_after(position: Position, size: int) -> int:
    below = next(index for index, note in enumerate(position.notes) if not note.added)
    return (len(position.notes) - below) // size + 1


def _cycle_before(position: Position, size: int) -> int:
    below = next(index for index, note in enumerate(position.notes) if not note.added)
    return -(below + 1) // size + 1


def _added_place(position: Position, pitch_midi: int, neighbour: StringFret) -> StringFret | None:
    """On any string under the hand, else past the hand on the string of the neighbouring note."""
    own = [note.place.fret for note in position.notes if not note.added]
    low, high = min(own), max(own)
    if position.style is PositionStyle.ONE_STRING:
        places = [place for place in position.instrument.places_of(pitch_midi) if place.string == neighbour.string]
    else:
        places = list(position.instrument.places_of(pitch_midi))
    distances = {place: max(0, low - place.fret, place.fret - high) for place in places}
    near = [place for place in places if distances[place] <= MOST_FRETS_PAST_HAND]
    return min(
        near, key=lambda place: (distances[place], abs(place.string - neighbour.string), place.fret), default=None
    )


def _added_finger(position: Position, hands: Mapping[int, HandPlace], place: StringFret) -> int:
    if place.fret == position.instrument.capo:
        return 0
    hand = hands[min(hands, key=lambda string: abs(string - place.string))]
    lower, higher = _neighbours(position.notes, place)
    choices = range(max(lower, INDEX), min(higher, LITTLE) + 1)
    return min(choices, key=lambda finger: (hand.stretch_frets(finger, place.fret), finger in (lower, higher)))


def _neighbours(notes: Sequence[PositionNote], place: StringFret) -> tuple[int, int]:
    """Fingers of the nearest notes below and above a place on its string."""
    lower = [note.finger for note in notes if note.place.string == place.string and note.place.fret < place.fret]
    higher = [note.finger for note in notes if note.place.string == place.string and note.place.fret > place.fret]
    return max(lower, default=INDEX), min(higher, default=LITTLE)

"""From places to a finished position: fingers, degrees, cycles, and notes added past its ends.

Cycles count octaves' worths of the scale from the position's lowest note: the first N notes of an N-tone scale are
cycle 1, the next N cycle 2. Notes added above go on counting; notes added below lie in cycle 0 (and -1, ...).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from phrasewright.errors import NeckError
from phrasewright.neck.hand import INDEX, LITTLE, HandPlace
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import scale_pitches, spell
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.theory.interval import Degree
from phrasewright.theory.scale import Scale

FEWEST_NOTES = 3  # that a position must keep
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
    for count in range(1, above + 1):
        position = _one_above(position, hands, count)
    for count in range(1, below + 1):
        position = _one_below(position, hands, count)
    return position


def without(position: Position, left_out: Collection[tuple[Degree, int | None]]) -> Position:
    """The position without some notes, named by degree and cycle (None = every cycle); the others keep their cycles.

    Raises NeckError when too few are left to make a motif of.
    """
    kept = tuple(
        note
        for note in position.notes
        if (note.degree, note.cycle) not in left_out and (note.degree, None) not in left_out
    )
    if len(kept) < FEWEST_NOTES or all(note.added for note in kept):
        names = " ".join(str(note.degree) for note in position.notes)
        raise NeckError(
            f"Too few notes of {position.name} are left to make a motif of.",
            alternatives=(f"the whole of it: {names}",),
        )
    return replace(position, notes=kept)


def _one_above(position: Position, hands: Mapping[int, HandPlace], count: int) -> Position:
    end = position.notes[-1]
    pitch_midi = scale_pitches(position.scale, end.pitch.midi + 1, end.pitch.midi + 12)[0]
    own_and_above = len(position.notes) - _notes_below(position)
    note = _added_note(position, hands, pitch_midi, end, after_lowest=own_and_above)
    if note is None:
        raise _no_room(position, count, "above")
    return replace(position, notes=(*position.notes, note))


def _one_below(position: Position, hands: Mapping[int, HandPlace], count: int) -> Position:
    end = position.notes[0]
    pitch_midi = scale_pitches(position.scale, end.pitch.midi - 12, end.pitch.midi - 1)[-1]
    note = _added_note(position, hands, pitch_midi, end, after_lowest=-_notes_below(position) - 1)
    if note is None:
        raise _no_room(position, count, "below")
    return replace(position, notes=(note, *position.notes))


def _notes_below(position: Position) -> int:
    return next(index for index, note in enumerate(position.notes) if not note.added)


def _added_note(
    position: Position, hands: Mapping[int, HandPlace], pitch_midi: int, end: PositionNote, *, after_lowest: int
) -> PositionNote | None:
    """The note next to ``end``; after_lowest: scale steps from the lowest own note, negative below it."""
    place = _added_place(position, pitch_midi, end.place)
    if place is None:
        return None
    cycle = after_lowest // len(position.scale.kind.degrees) + 1
    finger = _added_finger(position, hands, place)
    return spell(position.scale, position.instrument, place, finger=finger, cycle=cycle, added=True)


def _no_room(position: Position, count: int, side: str) -> NeckError:
    return NeckError(
        f"No room for {_notes(count)} {side} {position.name}: "
        f"the next tone lies off the neck or more than {MOST_FRETS_PAST_HAND} frets past the hand.",
        alternatives=(f"{_notes(count - 1)} {side}",),
    )


def _notes(count: int) -> str:
    return f"{count or 'no'} added note{'' if count == 1 else 's'}"


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

"""Where on the neck the notes of a take were most likely played.

The fingering model (``neck.fingering``) says where, in the lesson's position as far as the notes allow: a phrase with a
note that has no place there is given as many frets more as it needs. A note that the position has is played where the
lesson shows it. A bent note lies at the fret that the finger holds, before the bend; a dead note on the string of a
neighbour; a note that the instrument does not have is left without a place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from phrasewright.listen.heard import HeardNote, HeardTechnique
from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.line import heard_line
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import FingeringWish, LineNote
from phrasewright.neck.fingering.moments import CHORD_S
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.place import Position
from phrasewright.units import CENTS_PER_SEMITONE

Frets = tuple[int, int]


def place_notes(
    notes: Sequence[PlacedNote],
    instrument: Instrument,
    position: Position | None = None,
    *,
    tuning_cents: float = 0.0,
) -> tuple[PlacedNote, ...]:
    """The notes with their places. notes: by onset; position: of the lesson; tuning_cents: of the take."""
    places = places_of([placed.note for placed in notes], instrument, position, tuning_cents=tuning_cents)
    return tuple(replace(placed, place=place) for placed, place in zip(notes, places, strict=True))


def places_of(
    notes: Sequence[HeardNote],
    instrument: Instrument,
    position: Position | None = None,
    *,
    tuning_cents: float = 0.0,
) -> tuple[StringFret | None, ...]:
    """The place of each note, in bars or not. notes, position, tuning_cents: as for ``place_notes``."""
    held_midi = {
        index: _held_midi(note, tuning_cents)
        for index, note in enumerate(notes)
        if not note.is_dead and instrument.places_of(_held_midi(note, tuning_cents))
    }
    taught = _taught(notes, held_midi, position) if position is not None else {}
    places: dict[int, StringFret] = {}
    for group, frets in _groups(notes, held_midi, taught, instrument, position):
        places |= _fingered(group, notes, held_midi, instrument, frets)
    places |= taught
    return tuple(_place(index, notes, places) for index in range(len(notes)))


def _held_midi(note: HeardNote, tuning_cents: float) -> int:
    """The pitch of the fret that the finger holds."""
    bend = note.mark(HeardTechnique.BEND)
    cents = tuning_cents + (bend.cents if bend else 0.0)
    return round(note.pitch_midi - cents / CENTS_PER_SEMITONE)


def _groups(
    notes: Sequence[HeardNote],
    held_midi: dict[int, int],
    taught: Collection[int],
    instrument: Instrument,
    position: Position | None,
) -> Iterator[tuple[list[int], Frets | None]]:
    """Notes that are fingered together, with the frets to stay in: whole phrases with a note that is not taught."""
    if position is None:
        yield sorted(held_midi), None
        return
    own = position.lowest_fret, position.highest_fret
    line = heard_line(notes)
    phrases: dict[int, list[int]] = defaultdict(list)
    for phrase, index in zip(line.phrase.tolist(), line.index.tolist(), strict=True):
        if index in held_midi:
            phrases[phrase].append(index)
    for group in phrases.values():
        if not all(index in taught for index in group):
            yield group, _widened(own, {held_midi[index] for index in group}, instrument)


def _widened(frets: Frets, pitches_midi: set[int], instrument: Instrument) -> Frets:
    """The frets, and as many more as reach the nearest place of every pitch that has none there."""
    low, high = frets
    reached = [_nearest_fret(pitch, frets, instrument) for pitch in pitches_midi]
    return min(low, *reached), max(high, *reached)


def _nearest_fret(pitch_midi: int, frets: Frets, instrument: Instrument) -> int:
    low, high = frets
    return min(
        (place.fret for place in instrument.places_of(pitch_midi)),
        key=lambda fret: (max(low - fret, fret - high, 0), fret),
    )


def _fingered(
    group: Sequence[int],
    notes: Sequence[HeardNote],
    held_midi: dict[int, int],
    instrument: Instrument,
    frets: Frets | None,
) -> dict[int, StringFret]:
    line = [
        LineNote(
            onset_s=notes[index].onset_s,
            duration_s=notes[index].duration_s,
            pitch_midi=held_midi[index],
        )
        for index in group
    ]
    fingered = finger_line(line, instrument, FingeringWish(stay_in=frets))
    return {index: note.place for index, note in zip(group, fingered.notes, strict=True)}


def _taught(notes: Sequence[HeardNote], held_midi: dict[int, int], position: Position) -> dict[int, StringFret]:
    """The lesson's own places, but in chords, whose notes need a string each."""
    own = {note.pitch.midi: note.place for note in position.notes}
    onsets_s = [note.onset_s for note in notes]
    found = {}
    for index, pitch_midi in held_midi.items():
        near = (other for other in (index - 1, index + 1) if other in held_midi)
        alone = all(abs(onsets_s[other] - onsets_s[index]) >= CHORD_S for other in near)
        if alone and pitch_midi in own:
            found[index] = own[pitch_midi]
    return found


def _place(index: int, notes: Sequence[HeardNote], places: dict[int, StringFret]) -> StringFret | None:
    """Its own place; of a dead note that of the last note before it that has one, else of the first after."""
    if index in places or not notes[index].is_dead:
        return places.get(index)
    before = (other for other in range(index - 1, -1, -1) if other in places)
    after = (other for other in range(index + 1, len(notes)) if other in places)
    nearest = next(before, None)
    nearest = next(after, None) if nearest is None else nearest
    return None if nearest is None else places[nearest]

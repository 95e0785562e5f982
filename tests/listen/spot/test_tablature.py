"""Places of a take on the neck."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from played import GUITAR, a_minor_pentatonic, line, placed

from phrasewright.listen.heard import HeardTechnique, Mark
from phrasewright.listen.spot.tablature import place_notes
from phrasewright.neck.instrument import StringFret
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.neck.search import one_string
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

BOX = a_minor_pentatonic()


def frets(notes: list, position: Position | None = BOX, **wishes: float) -> list[StringFret | None]:
    return [one.place for one in place_notes(notes, GUITAR, position, **wishes)]


def test_notes_of_the_position_lie_where_the_lesson_shows_them() -> None:
    """The whole box, up and down."""
    notes = [*BOX.notes, *BOX.notes[::-1]]
    assert frets(line([note.pitch.midi for note in notes])) == [note.place for note in notes]


def test_a_path_along_one_string_is_kept() -> None:
    """The lesson's string, though others have the same notes."""
    path = one_string(Scale(NoteName.parse("A"), SCALE_KINDS["minor-pentatonic"]), GUITAR, string=3)
    assert path.style is PositionStyle.ONE_STRING
    assert frets(line([note.pitch.midi for note in path.notes]), path) == [note.place for note in path.notes]


def test_a_note_beside_the_box_takes_the_hand_no_further_than_it_must() -> None:
    """D5 on string 1 is two frets above the box; notes of the box stay."""
    places = frets(line([69, 72, 74, 72]))
    assert places == [StringFret(1, 5), StringFret(1, 8), StringFret(1, 10), StringFret(1, 8)]


def test_a_phrase_elsewhere_does_not_move_the_others() -> None:
    """A phrase up the neck, between two in the box."""
    places = frets(line([69, 72, None, 82, 84, 86, None, 69, 72]))
    assert places[:2] == places[-2:] == [StringFret(1, 5), StringFret(1, 8)]
    assert all(place is not None and place.fret >= 15 for place in places[2:5])


def test_a_bent_note_lies_at_the_fret_before_the_bend() -> None:
    """Heard at E4, bent up a tone from D4: string 3, fret 7."""
    bend = Mark(technique=HeardTechnique.BEND, cents=200.0)
    assert frets([placed(64, 1.0, 0.5, marks=(bend,))]) == [StringFret(3, 7)]


def test_a_flat_guitar_has_the_same_places() -> None:
    """All notes 70 cents flat, taken out."""
    notes = line([note.pitch.midi - 0.7 for note in BOX.notes])
    assert frets(notes, tuning_cents=-70.0) == [note.place for note in BOX.notes]


def test_a_dead_note_lies_on_the_string_before_it() -> None:
    """Or after it, where none comes before; alone it has no place."""
    dead = Mark(technique=HeardTechnique.DEAD)
    notes = line([30, 69, 30, 60])
    for index in (0, 2):
        notes[index] = replace(notes[index], note=replace(notes[index].note, marks=(dead,)))
    first, second, third, fourth = frets(notes)
    assert first == second == third == StringFret(1, 5)
    assert fourth == StringFret(3, 5)
    assert frets(notes[:1]) == [None]


def test_notes_that_the_guitar_does_not_have_are_left_without_a_place() -> None:
    """Below the lowest string and above the last fret; the others are placed."""
    places = frets(line([20, 69, 110]))
    assert places == [None, StringFret(1, 5), None]
    assert frets([]) == []


def test_notes_struck_together_take_a_string_each() -> None:
    """E4 and A4, both of the box."""
    places = frets([placed(64, 1.0, 0.5), placed(69, 1.01, 0.5)])
    assert len({place.string for place in places if place is not None}) == 2


@settings(max_examples=30)
@given(
    st.lists(st.tuples(st.floats(25.0, 95.0), st.floats(0.0, 1.5)), max_size=20),
    st.booleans(),
    st.sampled_from([0.0, 35.0, -50.0]),
)
def test_every_place_sounds_its_note(rows: list[tuple[float, float]], in_box: bool, tuning_cents: float) -> None:
    """Any pitches at any distance, also together: the note is kept, and its place sounds it or is none."""
    notes, now_s = [], 0.0
    for pitch, wait_s in rows:
        now_s += wait_s
        notes.append(placed(pitch, now_s, 0.3))
    for before, after in zip(
        notes, place_notes(notes, GUITAR, BOX if in_box else None, tuning_cents=tuning_cents), strict=True
    ):
        assert replace(after, place=None) == before
        heard_midi = round(before.note.pitch_midi - tuning_cents / 100.0)
        assert (after.place is None) == (not GUITAR.places_of(heard_midi))
        assert after.place is None or GUITAR.midi_at(after.place) == heard_midi

"""Shelf motifs in short lines: what is a motif, what was done to it, what is none."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from played import a_minor_pentatonic, exact_variants, line, placed, random_shelf, random_solo

from phrasewright.listen.heard import HeardTechnique, Mark
from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.motifs import spot_motifs, usual_step
from phrasewright.listen.spotted import Change, Sighting
from phrasewright.melody.motif import Motif
from phrasewright.melody.shelf import Shelf, shelf_of
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import Pitch
from strategies import names_of

BOX = a_minor_pentatonic()  # A2 C3 D3 E3 G3 A3 C4 D4 E4 G4 A4 C5
A, B, C = (Motif(BOX, (0, 1, 2)), Motif(BOX, (5, 3, 4, 6)), Motif(BOX, (8, 4)))
SHELF = shelf_of(BOX, (A, B, C))
PITCHES = [note.pitch.midi for note in BOX.notes]
A_MIDI, B_MIDI, C_MIDI = (tuple(note.pitch.midi for note in motif.notes) for motif in (A, B, C))
FOUR = Meter(4, 4)


def sighted(notes: list[PlacedNote], shelf: Shelf = SHELF, **wishes: object) -> tuple[Sighting, ...]:
    return spot_motifs(notes, shelf, **wishes).sightings  # type: ignore[arg-type]


def told(notes: list[PlacedNote], **wishes: object) -> list[tuple[str, tuple[int, ...], set[Change]]]:
    return [(one.letter, one.notes, set(one.changes)) for one in sighted(notes, **wishes)]


def test_motifs_in_a_line_are_told_in_order() -> None:
    """Letters, notes and order; what lies between is left alone."""
    notes = line([*A_MIDI, None, *B_MIDI, None, *C_MIDI, None, *A_MIDI])
    assert told(notes) == [
        ("A", (0, 1, 2), set()),
        ("B", (3, 4, 5, 6), set()),
        ("C", (7, 8), set()),
        ("A", (9, 10, 11), set()),
    ]


@pytest.mark.parametrize("octave", [-24, -12, 12, 24])
def test_another_octave_is_told(octave: int) -> None:
    """One or two octaves up or down."""
    (one,) = sighted(line([pitch + octave for pitch in B_MIDI]))
    assert (one.letter, one.octaves, one.changes) == ("B", octave // 12, (Change.OCTAVE,))


def test_a_reversed_motif_is_told_but_not_of_two_notes() -> None:
    """Two notes turned round are any two notes."""
    assert told(line(B_MIDI[::-1])) == [("B", (0, 1, 2, 3), {Change.REVERSED})]
    assert told(line(C_MIDI[::-1])) == []


@pytest.mark.parametrize("at", range(4))
def test_one_note_of_a_phrase_may_be_altered(at: int) -> None:
    """Any one of four, between motifs that are as they should be; it is told as altered and less sure."""
    wrong = [*B_MIDI]
    wrong[at] += 1
    notes = line([*B_MIDI, None, *A_MIDI, None, *wrong, None, *B_MIDI, None, *A_MIDI])
    seen = sighted(notes)
    assert [one.letter for one in seen] == list("BABBA")
    assert seen[2].changes == (Change.ONE_NOTE,)
    assert seen[2].confidence < seen[0].confidence


def test_a_passing_note_may_lie_between() -> None:
    """It belongs to the stretch of the motif and not to its notes."""
    notes = line([*B_MIDI, None, *A_MIDI, None, *B_MIDI[:2], B_MIDI[1] + 1, *B_MIDI[2:], None, *A_MIDI])
    one = sighted(notes)[2]
    assert (one.letter, one.first, one.last, one.notes, one.changes) == ("B", 7, 11, (7, 8, 10, 11), ())


def test_a_note_may_be_left_out() -> None:
    """Of a motif of four and more, in a phrase of its own."""
    notes = line([*B_MIDI, None, *A_MIDI, None, *B_MIDI[:2], B_MIDI[3], None, *B_MIDI, None, *A_MIDI])
    one = sighted(notes)[2]
    assert (one.letter, one.notes, one.changes) == ("B", (7, 8, 9), (Change.ONE_NOTE,))


def test_two_notes_must_both_be_right() -> None:
    """A motif of two notes allows no slip at all."""
    notes = line([*C_MIDI, None, C_MIDI[0], C_MIDI[1] + 1, None, C_MIDI[0], 70, C_MIDI[1], None, *C_MIDI])
    assert [one.notes for one in sighted(notes)] == [(0, 1), (7, 8)]


def test_a_long_rest_in_the_middle_parts_a_motif() -> None:
    """Neither half is a motif."""
    assert told(line([*B_MIDI[:2], None, *B_MIDI[2:]])) == []


def test_staccato_at_a_slow_tempo_is_still_one_motif() -> None:
    """Quarters at 60 a minute with 0.8 s of silence between them."""
    notes = [placed(pitch, 1.0 + number, 0.2, quarter_s=1.0) for number, pitch in enumerate(B_MIDI)]
    assert told(notes) == [("B", (0, 1, 2, 3), set())]


def test_a_run_up_and_down_the_scale_is_no_motif() -> None:
    """Every three notes of the box on the shelf, and none of them is meant by a player who runs through it."""
    shelf = shelf_of(BOX, [Motif(BOX, (step, step + 1, step + 2)) for step in range(10)])
    assert sighted(line(PITCHES), shelf) == ()
    assert sighted(line([*PITCHES, *PITCHES[-2::-1]]), shelf) == ()


def test_the_same_shape_elsewhere_is_told_as_moved() -> None:
    """A phrase with the steps of B, two notes of the scale higher."""
    moved = [PITCHES[step + 2] for step in B.steps]
    notes = line([*B_MIDI, None, *A_MIDI, None, *moved, None, *B_MIDI])
    assert told(notes)[2] == ("B", (7, 8, 9, 10), {Change.MOVED})


def test_a_longer_motif_beats_the_shorter_ones_in_it() -> None:
    """One of five notes that begins and ends as two others do."""
    long = Motif(BOX, (0, 1, 2, 4, 3))
    shelf = shelf_of(BOX, (A, Motif(BOX, (4, 3)), long))
    assert [one.letter for one in sighted(line([note.pitch.midi for note in long.notes]), shelf)] == ["C"]


def test_two_motifs_may_share_the_note_where_they_meet() -> None:
    """The last of one is the first of the next."""
    shelf = shelf_of(BOX, (A, Motif(BOX, (2, 0, 4))))
    seen = sighted(line([PITCHES[step] for step in (0, 1, 2, 0, 4)]), shelf)
    assert [(one.letter, one.notes) for one in seen] == [("A", (0, 1, 2)), ("B", (2, 3, 4))]


def test_twice_as_fast_against_the_counts_of_the_lesson() -> None:
    """Eighths where the lesson counts quarters; at the usual pace nothing is said."""
    step = usual_step([parse_count("1 2 3", FOUR), parse_count("1 2 & 3", FOUR)])
    assert step == 1
    assert told(line(A_MIDI, step_s=0.25), usual_step=step) == [("A", (0, 1, 2), {Change.TWICE_AS_FAST})]
    assert told(line(A_MIDI, step_s=0.5), usual_step=step) == [("A", (0, 1, 2), set())]
    assert usual_step([parse_count("1", FOUR)]) is None


def test_twice_as_fast_against_the_other_times_it_was_played() -> None:
    """Without counts, from the third time on."""
    fast = line(B_MIDI, step_s=0.25)
    slow = [line(B_MIDI, step_s=0.5, start_s=start_s) for start_s in (5.0, 10.0)]
    assert [changes for _, _, changes in told([*fast, *slow[0]])] == [set(), set()]
    assert [changes for _, _, changes in told([*fast, *slow[0], *slow[1]])] == [{Change.TWICE_AS_FAST}, set(), set()]


def test_the_tuning_of_the_take_is_taken_out() -> None:
    """A guitar 60 cents flat plays the same motif, and not the one a semitone below."""
    notes = [replace(one, note=replace(one.note, pitch_midi=one.note.pitch_midi - 0.6)) for one in line(B_MIDI)]
    assert told(notes, tuning_cents=-60.0) == [("B", (0, 1, 2, 3), set())]
    assert told(notes) == []


def test_dead_notes_are_passed_over() -> None:
    """A click between two notes of a motif is not one of its notes."""
    notes = line([*B_MIDI[:2], 40, *B_MIDI[2:]])
    notes[2] = replace(notes[2], note=replace(notes[2].note, marks=(Mark(technique=HeardTechnique.DEAD),)))
    assert told(notes) == [("B", (0, 1, 3, 4), set())]


@pytest.mark.parametrize("pitches", [[], [60]])
def test_next_to_nothing_holds_nothing(pitches: list[int]) -> None:
    spotting = spot_motifs(line(pitches), SHELF)
    assert spotting.sightings == spotting.own == ()


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(-7, 7))
def test_a_take_and_a_shelf_moved_together_show_the_same(seed: int, up: int) -> None:
    """The position laid so many frets up, the take so many semitones."""
    solo = random_solo(Random(seed))
    notes = [replace(one, note=replace(one.note, pitch_midi=one.note.pitch_midi + up)) for one in solo.notes[:80]]
    moved = moved_shelf(solo.shelf, up)
    here, there = spot_motifs(solo.notes[:80], solo.shelf), spot_motifs(notes, moved)
    assert here.own == there.own
    assert [replace(one, confidence=0.0) for one in here.sightings] == [
        replace(one, confidence=0.0) for one in there.sightings
    ]


def moved_shelf(shelf: Shelf, up: int) -> Shelf:
    """The same motifs so many semitones up."""
    notes = tuple(replace(note, pitch=_pitch(note.pitch.midi + up)) for note in shelf.position.notes)
    position = replace(shelf.position, notes=notes)
    items = tuple(replace(item, motif=Motif(position, item.motif.steps)) for item in shelf.items)
    return Shelf(position=position, items=items)


def _pitch(pitch_midi: int) -> Pitch:
    return Pitch.from_midi(pitch_midi, names_of(pitch_midi)[0])


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_sightings_lie_in_the_take_and_apart(seed: int) -> None:
    """Notes rise within one phrase's stretch, first and last are theirs, and two sightings share one note at most."""
    solo = random_solo(Random(seed))
    seen = sighted(solo.notes, solo.shelf)
    for one in seen:
        assert list(one.notes) == sorted(set(one.notes))
        assert (one.notes[0], one.notes[-1]) == (one.first, one.last)
        assert 0 <= one.first < one.last < len(solo.notes)
        assert 0.0 < one.confidence <= 1.0
        assert one.last - one.first + 1 - len(one.notes) <= 1
    for before, after in pairwise(seen):
        assert before.last <= after.first


@settings(max_examples=25)
@given(st.lists(st.integers(0, 3), min_size=2, max_size=60))
def test_a_line_without_the_intervals_of_the_shelf_shows_nothing(steps: list[int]) -> None:
    """Fifths and sixths outside the box's register, where the shelf has seconds and thirds, in one phrase."""
    shelf = shelf_of(BOX, [Motif(BOX, (0, 1, 2)), Motif(BOX, (4, 3, 4)), Motif(BOX, (7, 8, 7, 6))])
    leaps = [41 + 7 * (step % 2) + 21 * (index % 2) for index, step in enumerate(steps)]
    assert sighted(line(leaps), shelf) == ()


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_every_motif_of_a_shelf_is_known_by_its_notes(seed: int) -> None:
    """Played alone, note for note, it is sighted as itself, or as another of which it is a variant."""
    shelf = random_shelf(Random(seed))
    for item in shelf.items:
        (one,) = sighted(line([note.pitch.midi for note in item.motif.notes]), shelf)
        assert (
            one.letter == exact_variants(shelf)[tuple(note.pitch.midi for note in item.motif.notes)] or not one.changes
        )
        assert one.notes == tuple(range(len(item.motif.steps)))


def test_counts_are_quarters() -> None:
    """Eighths of a count are half a quarter note apart."""
    assert usual_step([parse_count("1 & 2 &", FOUR)]) == Fraction(1, 2)

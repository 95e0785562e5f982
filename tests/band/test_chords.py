"""The chord part: grips a hand can hold, the right tones, little movement, room to play over."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, pairwise

import pytest
from band_strategies import FULL_BANDS, TURN, chords, jobs, notes_of, unfolded
from hypothesis import assume, given
from hypothesis import strategies as st

from phrasewright.band.arrange import accompany
from phrasewright.band.comping import open_fifth
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.groove_model import ChordStyle
from phrasewright.band.tones import essential_degrees, guide_degrees
from phrasewright.band.voicings import GUITAR, HIGHEST_MIDI, LOWEST_MIDI, is_playable, voicings_of
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Measure, Note, PartRole
from phrasewright.theory.chord import CHORD_KINDS, Chord, ChordKind
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.pitch import LETTERS, NoteName


@given(chords)
def test_grips_are_playable_and_complete(chord: Chord) -> None:
    """Every grip can be held, sounds its chord's telling tones and no other, rises, and stays in its register."""
    grips = voicings_of(chord)
    assert grips
    wanted = {degree.semitones for degree in essential_degrees(chord, 4)}
    for grip in grips:
        assert is_playable(grip.places)
        assert [GUITAR.midi_at(place) for place in grip.places] == [pitch.midi for pitch in grip.pitches]
        assert {degree.semitones for degree in grip.degrees} == wanted
        pitches_midi = [pitch.midi for pitch in grip.pitches]
        assert all(low < high for low, high in pairwise(pitches_midi))
        assert pitches_midi[0] >= LOWEST_MIDI
        assert pitches_midi[-1] <= HIGHEST_MIDI
        assert {pitch.name.pitch_class for pitch in grip.pitches} <= {tone.pitch_class for tone in chord.tones}


@pytest.mark.parametrize("kind", CHORD_KINDS.values(), ids=lambda kind: kind.id)
def test_every_kind_has_grips_on_every_root(kind: ChordKind) -> None:
    """No chord of any kind on any root is without a grip."""
    for letter in LETTERS:
        for alter in (-1, 0, 1):
            assert voicings_of(Chord(root=NoteName(letter, alter), kind=kind))


@pytest.mark.parametrize(
    ("symbol", "degrees"),
    [
        ("C", "3 5 1"),
        ("Cm7", "b3 b7 5 1"),
        ("Cmaj9", "3 7 9 5"),
        ("C13", "3 b7 13 9"),
        ("C11", "b7 9 11 5"),
        ("C7b9", "3 b7 b9 5"),
        ("C7alt", "3 b7 b13 b9"),
        ("C7sus4", "4 b7 5 1"),
        ("Cm7b5", "b3 b7 b5 1"),
        ("C6", "3 6 5 1"),
        ("C5", "5 1"),
        ("Cmaj7#11", "3 7 #11 5"),
    ],
)
def test_telling_tones(symbol: str, degrees: str) -> None:
    """Third and seventh come first, then what is changed or added, then fifth and root (common practice)."""
    assert " ".join(str(degree) for degree in essential_degrees(parse_chord(symbol), 4)) == degrees


@pytest.mark.parametrize(
    ("frets", "playable"),
    [((5, 5, 5, 5), True), ((3, 5, 4, 5), True), ((1, 5, 1, 5), False), ((1, 6, 1, 1), False), ((2, 3, 4, 5), True)],
)
def test_playable_grips(frets: tuple[int, ...], playable: bool) -> None:
    """A hand holds four frets high on the neck but not at the first, and bars the lowest fret with one finger."""
    assert is_playable([StringFret(string, fret) for string, fret in enumerate(frets, start=1)]) is playable


def test_open_strings_and_doubled_strings_are_no_grip() -> None:
    """Comping grips damp every string, and a string sounds once."""
    assert not is_playable([StringFret(1, 0), StringFret(2, 1), StringFret(3, 1)])
    assert not is_playable([StringFret(1, 3), StringFret(1, 4), StringFret(3, 3)])


def part_notes(measures: tuple[Measure, ...], groove: Groove, seed: int, ending: Ending) -> tuple[Note, ...]:
    return notes_of(accompany(measures, groove, seed=seed, ending=ending), PartRole.CHORDS)


@given(jobs(), st.integers(0, 9), st.sampled_from(Ending))
def test_strokes_lie_in_the_bars_and_every_chord_is_heard(
    job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending
) -> None:
    """Strokes never overlap or cross a chord change or bar line; each chord of the chart sounds at least once."""
    measures, groove = job
    assume(groove.plan(measures[0].meter).chords)
    sounding = open_fifth if groove.chord_style is ChordStyle.FIFTHS else lambda chord: chord
    notes = part_notes(measures, groove, seed, ending)
    strokes = [list(group) for _, group in groupby(notes, key=lambda note: note.onset)]
    for first, second in pairwise(strokes):
        assert first[0].end <= second[0].onset
    for stroke in strokes:
        assert len({note.duration for note in stroke}) == 1
        assert len({note.place.string for note in stroke if note.place}) in (0, len(stroke))
    spans = [span for measure in measures for span in measure.chords]
    for span in spans:
        inside = [stroke for stroke in strokes if span.onset <= stroke[0].onset < span.onset + span.duration]
        assert all(stroke[0].end <= span.onset + span.duration for stroke in inside)
        if span.chord is not None:
            root, chord = span.chord.root.pitch_class, sounding(span.chord)
            heard = [{(note.pitch.midi - root) % 12 for note in stroke} for stroke in inside]
            guides = {degree.semitones % 12 for degree in guide_degrees(chord)}
            assert any(guides <= tones <= {degree.semitones % 12 for degree in chord.degrees} for tones in heard)


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
@pytest.mark.parametrize("seed", range(4))
def test_chords_leave_room(groove: Groove, seed: int) -> None:
    """Over a plain chart the chord part is silent at least a third of the time."""
    measures = unfolded(TURN, str(groove.meters[0]), choruses=2)
    onsets = {note.onset: note.duration for note in part_notes(measures, groove, seed, Ending.LOOP)}
    assert sum(onsets.values()) <= Fraction(2, 3) * measures[-1].end


def test_guitar_parts_have_places_and_keys_none() -> None:
    """Only a guitar's chord part carries strings and frets."""
    guitar = accompany(unfolded(TURN), GROOVES["country-train"], seed=0).parts[0]
    keys = accompany(unfolded(TURN), GROOVES["swing"], seed=0).parts[0]
    assert guitar.instrument is GUITAR
    assert all(note.place and GUITAR.midi_at(note.place) == note.pitch.midi for note in guitar.notes)
    assert keys.instrument is None
    assert all(note.place is None for note in keys.notes)


def test_no_chord_is_silence() -> None:
    """Where no chord sounds the chord part rests, and a chart without chords has an empty part."""
    notes = part_notes(unfolded("Am7 | N.C. | D7"), GROOVES["straight-eighths"], 0, Ending.LOOP)
    assert not [note for note in notes if 4 <= note.onset < Fraction(15, 2)]
    assert part_notes(unfolded("N.C."), GROOVES["swing"], 0, Ending.LOOP) == ()

"""Scales: spelling against music21, pitch-class facts against Forte (1973)."""

from __future__ import annotations

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from theory_strategies import scales

from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import LETTERS, NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale, custom_scale_kind

ROOTS = [NoteName(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]

# Forte, The Structure of Atonal Music (1973): interval vector, distinct transpositions, distinct modes.
SET_FACTS = {
    "minor-pentatonic": ("032140", 12, 5),
    "major-pentatonic": ("032140", 12, 5),
    "blues": ("233241", 12, 6),
    "major-blues": ("233241", 12, 6),
    "major": ("254361", 12, 7),
    "dorian": ("254361", 12, 7),
    "phrygian": ("254361", 12, 7),
    "lydian": ("254361", 12, 7),
    "mixolydian": ("254361", 12, 7),
    "minor": ("254361", 12, 7),
    "locrian": ("254361", 12, 7),
    "melodic-minor": ("254442", 12, 7),
    "dorian-flat-2": ("254442", 12, 7),
    "lydian-augmented": ("254442", 12, 7),
    "lydian-dominant": ("254442", 12, 7),
    "mixolydian-flat-6": ("254442", 12, 7),
    "locrian-natural-2": ("254442", 12, 7),
    "altered": ("254442", 12, 7),
    "harmonic-minor": ("335442", 12, 7),
    "locrian-natural-6": ("335442", 12, 7),
    "ionian-sharp-5": ("335442", 12, 7),
    "dorian-sharp-4": ("335442", 12, 7),
    "phrygian-dominant": ("335442", 12, 7),
    "lydian-sharp-2": ("335442", 12, 7),
    "super-locrian-double-flat-7": ("335442", 12, 7),
    "harmonic-major": ("335442", 12, 7),
    "bebop-dominant": ("465472", 12, 8),
    "bebop-major": ("456562", 12, 8),
    "diminished-whole-half": ("448444", 3, 2),
    "diminished-half-whole": ("448444", 3, 2),
    "whole-tone": ("060603", 2, 1),
}

# Degrees as music21 interval names, so that each scale can be built there note by note.
INTERVALS = {
    "1": "P1", "b2": "m2", "2": "M2", "#2": "A2", "b3": "m3", "3": "M3", "b4": "d4", "4": "P4", "#4": "A4",
    "b5": "d5", "5": "P5", "#5": "A5", "b6": "m6", "6": "M6", "bb7": "d7", "b7": "m7", "7": "M7",
}  # fmt: skip

# Scale classes of music21, and the degree our scale starts on inside them (1 = the same scale).
MUSIC21_SCALES = {
    "major": ("MajorScale", 1), "dorian": ("DorianScale", 1), "phrygian": ("PhrygianScale", 1),
    "lydian": ("LydianScale", 1), "mixolydian": ("MixolydianScale", 1), "minor": ("MinorScale", 1),
    "locrian": ("LocrianScale", 1), "harmonic-minor": ("HarmonicMinorScale", 1),
    "melodic-minor": ("MelodicMinorScale", 1),
    "locrian-natural-6": ("HarmonicMinorScale", 2), "ionian-sharp-5": ("HarmonicMinorScale", 3),
    "dorian-sharp-4": ("HarmonicMinorScale", 4), "phrygian-dominant": ("HarmonicMinorScale", 5),
    "lydian-sharp-2": ("HarmonicMinorScale", 6), "super-locrian-double-flat-7": ("HarmonicMinorScale", 7),
    "dorian-flat-2": ("MelodicMinorScale", 2), "lydian-augmented": ("MelodicMinorScale", 3),
    "lydian-dominant": ("MelodicMinorScale", 4), "mixolydian-flat-6": ("MelodicMinorScale", 5),
    "locrian-natural-2": ("MelodicMinorScale", 6), "altered": ("MelodicMinorScale", 7),
}  # fmt: skip
PARENT_INTERVAL = {
    "HarmonicMinorScale": {1: "P1", 2: "M2", 3: "m3", 4: "P4", 5: "P5", 6: "m6", 7: "M7"},
    "MelodicMinorScale": {1: "P1", 2: "M2", 3: "m3", 4: "P4", 5: "P5", 6: "M6", 7: "M7"},
}


def ours(pitch: music21.pitch.Pitch) -> str:
    return pitch.name.replace("-", "b")


def theirs(name: NoteName, octave: int = 4) -> music21.pitch.Pitch:
    return music21.pitch.Pitch(str(name).replace("b", "-") + str(octave))


def interval_vector(semitones: tuple[int, ...]) -> str:
    counts = [0] * 6
    for index, low in enumerate(semitones):
        for high in semitones[index + 1 :]:
            distance = (high - low) % 12
            counts[min(distance, 12 - distance) - 1] += 1
    return "".join(str(count) for count in counts)


def test_every_scale_has_its_facts() -> None:
    """No scale is without a row in the table of facts."""
    assert set(SET_FACTS) == set(SCALE_KINDS)


@pytest.mark.parametrize("scale_id", SCALE_KINDS)
def test_set_facts(scale_id: str) -> None:
    """Interval vector, number of transpositions and of modes are Forte's; the vector also music21's."""
    semitones = SCALE_KINDS[scale_id].semitones
    vector, transpositions, modes = SET_FACTS[scale_id]
    assert interval_vector(semitones) == vector
    assert "".join(str(count) for count in music21.chord.Chord(list(semitones)).intervalVector) == vector
    assert len({frozenset((pc + shift) % 12 for pc in semitones) for shift in range(12)}) == transpositions
    rotations = {tuple(sorted((pc - start) % 12 for pc in semitones)) for start in semitones}
    assert len(rotations) == modes


@pytest.mark.parametrize("scale_id", SCALE_KINDS)
def test_spelling_is_built_from_music21_intervals(scale_id: str) -> None:
    """Every note on every root is what music21 puts that interval above the root."""
    for root in ROOTS:
        scale = Scale(root, SCALE_KINDS[scale_id])
        expected = [ours(theirs(root).transpose(INTERVALS[str(degree)])) for degree in scale.kind.degrees]
        assert [str(note) for note in scale.notes] == expected


@pytest.mark.parametrize("scale_id", MUSIC21_SCALES)
def test_scales_agree_with_music21(scale_id: str) -> None:
    """Scales that music21 has, and the modes of its minors, are spelled as there on every root."""
    class_name, place = MUSIC21_SCALES[scale_id]
    for root in ROOTS:
        tonic = theirs(root)
        if place > 1:
            tonic = tonic.transpose(music21.interval.Interval("-" + PARENT_INTERVAL[class_name][place]))
        pitches = getattr(music21.scale, class_name)(tonic).getPitches(tonic, tonic.transpose("P8"))[:-1]
        rotated = pitches[place - 1 :] + pitches[: place - 1]
        assert [str(note) for note in Scale(root, SCALE_KINDS[scale_id]).notes] == [ours(pitch) for pitch in rotated]


def test_whole_tone_difference() -> None:
    """The one scale spelled unlike music21: its last tone is b7 here, #6 there; the sounds agree."""
    pitches = music21.scale.WholeToneScale("C4").getPitches("C4", "B-4")
    notes = Scale(NoteName("C"), SCALE_KINDS["whole-tone"]).notes
    assert [ours(pitch) for pitch in pitches] == ["C", "D", "E", "F#", "G#", "A#"]
    assert [str(note) for note in notes] == ["C", "D", "E", "F#", "G#", "Bb"]
    assert [note.pitch_class for note in notes] == [pitch.pitchClass for pitch in pitches]


def test_octatonic_difference() -> None:
    """music21 respells this scale to avoid double flats, so only its pitch classes are compared."""
    for root in ROOTS:
        tonic = theirs(root)
        pitches = music21.scale.OctatonicScale(tonic).getPitches(tonic, tonic.transpose("M7"))
        notes = Scale(root, SCALE_KINDS["diminished-whole-half"]).notes
        assert [note.pitch_class for note in notes] == [pitch.pitchClass for pitch in pitches]


def test_a_major_scale_holds_three_minor_pentatonics() -> None:
    """They stand on the second, third and sixth degree."""
    major = set(SCALE_KINDS["major"].semitones)
    pentatonic = SCALE_KINDS["minor-pentatonic"].semitones
    inside = [root for root in range(12) if {(root + pc) % 12 for pc in pentatonic} <= major]
    assert inside == [2, 4, 9]


@pytest.mark.parametrize(
    ("root", "scale_id", "notes"),
    [
        ("A", "minor-pentatonic", "A C D E G"),
        ("F", "major", "F G A Bb C D E"),
        ("Gb", "major", "Gb Ab Bb Cb Db Eb F"),
        ("E", "blues", "E G A Bb B D"),
        ("G#", "harmonic-minor", "G# A# B C# D# E F##"),
        ("C", "altered", "C Db Eb Fb Gb Ab Bb"),
        ("B", "phrygian-dominant", "B C D# E F# G A"),
    ],
)
def test_known_scales(root: str, scale_id: str, notes: str) -> None:
    """Scales as every player spells them (common practice)."""
    assert " ".join(str(note) for note in Scale(NoteName.parse(root), SCALE_KINDS[scale_id]).notes) == notes


@given(scales, st.integers(0, 127))
def test_degree_at_is_the_note_that_sounds(scale: Scale, pitch_midi: int) -> None:
    """A MIDI pitch has a degree exactly when a note of the scale sounds there, in any octave."""
    degree = scale.degree_at(pitch_midi)
    classes = {note.pitch_class: own for note, own in zip(scale.notes, scale.kind.degrees, strict=True)}
    assert degree == classes.get(pitch_midi % 12)


@given(scales)
def test_scale_letters(scale: Scale) -> None:
    """A scale of seven tones uses each letter once."""
    letters = [note.letter for note in scale.notes]
    if len(letters) == 7:
        assert sorted(letters) == sorted(LETTERS)
    assert letters[0] == scale.root.letter


@pytest.mark.parametrize("scale_id", ["major", "dorian", "phrygian", "lydian", "mixolydian", "minor", "locrian"])
@pytest.mark.parametrize("root", [NoteName.at_fifths(fifths) for fifths in range(-2, 3)], ids=str)
def test_signature_of_a_mode_leaves_no_accidental(scale_id: str, root: NoteName) -> None:
    """A mode of major written with its signature needs no accidental, as music21's key signature says."""
    scale = Scale(root, SCALE_KINDS[scale_id])
    signature = music21.key.KeySignature(scale.signature_fifths)
    for note in scale.notes:
        accidental = signature.accidentalByStep(note.letter)
        assert note.alter == (0 if accidental is None else accidental.alter)


@given(scales)
def test_signature_stays_within_seven(scale: Scale) -> None:
    """No scale asks for a signature of more than seven signs."""
    assert -7 <= scale.signature_fifths <= 7


def test_a_scale_of_flats_keeps_a_signature_of_flats() -> None:
    """D flat altered would need ten flats: it is written with seven, not with the two sharps of another spelling."""
    assert Scale(NoteName.parse("Db"), SCALE_KINDS["altered"]).signature_fifths == -7


@pytest.mark.parametrize("formula", ["", "2 3 5", "1 3 2", "1 3 b4 3", "1 5 8", "1 7 #7"])
def test_a_scale_must_rise_within_an_octave(formula: str) -> None:
    """Degrees that do not rise from 1 within one octave are refused."""
    with pytest.raises(ValueError, match="must rise"):
        custom_scale_kind(tuple(Degree.parse(word) for word in formula.split()))


@pytest.mark.parametrize(("formula", "signature"), [("1 2 b3 5 6", -3), ("1 b3 3 5", 0), ("1 2 3 5", 0)])
def test_custom_scales(formula: str, signature: int) -> None:
    """A custom scale is written in minor when it has a minor third and no major one."""
    kind = custom_scale_kind(tuple(Degree.parse(word) for word in formula.split()))
    assert kind.formula == formula
    assert kind.signature == signature

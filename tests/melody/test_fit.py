"""Roles, names and grades of notes over chords; the weighted mean in bits."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from melody_strategies import METERS, NAMES, box, chord, chords, motifs, open_a_minor

from phrasewright.melody.fit import (
    Grade,
    Role,
    Sounding,
    beat_weight,
    chord_degree,
    fit_line,
    fit_motif,
    fit_phrase,
    note_fit,
)
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.priors import Idiom, bits_of, chord_shares
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.count import parse_count
from phrasewright.theory.interval import Interval
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

A_MINOR = open_a_minor().scale
FOUR = Meter(4, 4)


def _fit(pitch: str, symbol: str, following: str | None = None, idiom: Idiom = Idiom.JAZZ):
    return note_fit(
        Pitch.parse(pitch),
        parse_chord(symbol),
        None if following is None else Pitch.parse(following),
        scale=A_MINOR,
        idiom=idiom,
    )


@pytest.mark.parametrize(
    ("pitch", "symbol", "role", "words"),
    [
        ("A3", "A7", Role.ROOT, "the root of A7"),
        ("C#4", "A7", Role.THIRD, "the third of A7"),
        ("E4", "A7", Role.FIFTH, "the fifth of A7"),
        ("G3", "A7", Role.SEVENTH, "the seventh of A7"),
        ("C4", "Am7", Role.THIRD, "the third of Am7"),
        ("C4", "A7", Role.TENSION, "the flat third over A7"),
        ("D4", "A7", Role.TENSION, "the eleventh over A7"),
        ("B3", "A7", Role.TENSION, "the ninth over A7"),
        ("B3", "A", Role.TENSION, "the second over A"),
        ("F#4", "A6", Role.OTHER_TONE, "the sixth of A6"),
        ("B3", "A9", Role.OTHER_TONE, "the ninth of A9"),
        ("G#3", "A7", Role.CLASH, "the natural seventh against A7"),
        ("Bb3", "Am7", Role.CLASH, "the flat ninth against Am7"),
        ("F#4", "Cmaj7", Role.TENSION, "the sharp eleventh over Cmaj7"),
        ("E4", "Bm7b5", Role.TENSION, "the eleventh over Bm7♭5"),
        ("G3", "D/G", Role.OTHER_TONE, "the bass note of D/G"),
    ],
)
def test_roles_as_a_teacher_names_them(pitch: str, symbol: str, role: Role, words: str) -> None:
    """A last note is named by its degree over the chord (common practice)."""
    fit = _fit(pitch, symbol)
    assert (fit.role, fit.words) == (role, words)


def test_a_note_that_moves_into_the_chord_approaches() -> None:
    """C before C sharp over A7 is on its way; before G it is a tension that stays."""
    assert _fit("C4", "A7", "C#4").role is Role.APPROACH
    assert _fit("C4", "A7", "C#4").words == "the flat third, on its way into A7"
    assert _fit("C4", "A7", "G4").role is Role.TENSION
    assert _fit("C4", "A7", "C4").role is Role.TENSION


@given(chords(), st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_a_chord_degree_sounds_the_note(chord: Chord, name: NoteName, tonic: NoteName) -> None:
    """However it is spelled, the degree over the chord's root sounds the note, and chord tones keep the chord's own."""
    degree = chord_degree(name, chord)
    assert (chord.root.pitch_class + degree.semitones) % 12 == name.pitch_class
    if name.pitch_class in {tone.pitch_class for tone in chord.tones}:
        assert degree in chord.degrees
    fit = note_fit(Pitch(name, 4), chord, None, scale=Scale(tonic, SCALE_KINDS["major"]))
    assert fit.role.is_chord_tone == (name.pitch_class in chord.pitch_classes)


def test_fit_is_the_weighted_mean_of_bits() -> None:
    """Motif 1 b3 4 over A7: (bits(14.1) + bits(5.5) + 1.3 bits(8.3)) / 3.3 (docs/sources.md 12a)."""
    shares = chord_shares(chord("A"))
    fit = fit_motif(Motif(open_a_minor(), (0, 1, 2)), chord("A"))
    expected = (bits_of(shares[0]) + bits_of(shares[3]) + 1.3 * bits_of(shares[5])) / 3.3
    assert fit.bits == pytest.approx(expected)


def test_a_phrase_weighs_duration_beat_and_end() -> None:
    """1 & 2 over A7: half a quarter on the beat 1.1, half off it 1.0, a whole one last 1.3 (docs/sources.md 12a)."""
    shares = chord_shares(chord("A"))
    phrase = Phrase(Motif(open_a_minor(), (0, 1, 2)), parse_count("1 & 2", FOUR))
    fit = fit_phrase(phrase, Fraction(0), lambda _: chord("A"))
    assert fit is not None
    weights = (0.55, 0.5, 1.3)
    bits = [bits_of(shares[pc]) for pc in (0, 3, 5)]
    assert fit.bits == pytest.approx(sum(w * b for w, b in zip(weights, bits, strict=True)) / sum(weights))


def test_the_chord_under_each_note_counts() -> None:
    """When the chord changes inside the phrase, each note is heard over its own chord."""
    phrase = Phrase(Motif(open_a_minor(), (0, 2)), parse_count("1 3", FOUR))
    fit = fit_phrase(phrase, Fraction(4), lambda time: chord("A") if time < 6 else chord("D"))
    assert fit is not None
    assert [note.words for note in fit.notes] == ["the root of A7", "the root of D7"]


def test_no_chord_no_fit() -> None:
    """Without any chord there is nothing to fit; an empty line is a mistake."""
    phrase = Phrase(Motif(open_a_minor(), (0, 2)), parse_count("1 3", FOUR))
    assert fit_phrase(phrase, Fraction(0), lambda _: None) is None
    with pytest.raises(ValueError, match="at least one"):
        fit_line((), scale=A_MINOR)


@pytest.mark.parametrize(
    ("text", "expected"), [("4/4", [1.1, 1.0, 1.1]), ("6/8", [1.1, 1.0, 1.0]), ("12/8", [1.1, 1.0, 1.0])]
)
def test_the_beat_is_the_tapped_one(text: str, expected: list[float]) -> None:
    """In compound meters only the dotted beat is on the beat."""
    assert [beat_weight(Fraction(n, 2), Meter.parse(text)) for n in range(3)] == expected


@pytest.mark.parametrize(
    ("steps", "symbol", "grade"),
    [((4, 5), "A7", Grade.AT_HOME), ((5, 7), "A7", Grade.COLOURFUL), ((2, 6), "Emaj7", Grade.RUBS)],
)
def test_grades(steps: tuple[int, ...], symbol: str, grade: Grade) -> None:
    """b7 1 is at home over A7, 1 4 colours it, 4 b3 ends on a clash against Emaj7."""
    assert fit_motif(Motif(open_a_minor(), steps), parse_chord(symbol)).grade is grade


def test_a_motif_full_of_rare_notes_leans() -> None:
    """Tones half a step beside the chord lean on it."""
    motif = Motif(box("Eb", "minor-pentatonic", 6), (3, 4))
    assert fit_motif(motif, parse_chord("C7")).grade in (Grade.LEANS, Grade.RUBS)


@given(motifs(), chords(), st.sampled_from(Idiom), st.integers(-6, 6))
def test_transposing_keeps_every_role(motif: Motif, chord: Chord, idiom: Idiom, fifths: int) -> None:
    """Move scale and chord by the same interval: roles, degrees, bits, pull and grade stay, only names change."""
    interval = _interval(fifths)
    moved, chord_moved = _transposed(motif, interval), _moved_chord(chord, interval)
    assume(moved is not None)
    assume(chord_moved is not None)
    assert moved is not None
    assert chord_moved is not None
    before, after = fit_motif(motif, chord, idiom=idiom), fit_motif(moved, chord_moved, idiom=idiom)
    assert [note.role for note in after.notes] == [note.role for note in before.notes]
    assert [note.degree for note in after.notes] == [note.degree for note in before.notes]
    assert after.bits == pytest.approx(before.bits)
    assert after.pull == pytest.approx(before.pull)
    assert after.grade is before.grade


@given(st.lists(st.integers(40, 80), min_size=1, max_size=6), chords(), st.sampled_from(METERS))
def test_no_line_is_refused(pitches_midi: list[int], chord: Chord, meter: Meter) -> None:
    """Fit grades any line over any chord with finite bits; it never filters."""
    names = {name.pitch_class: name for name in NAMES}
    line = [
        Sounding(pitch=Pitch.from_midi(midi, names[midi % 12]), chord=chord, weight=beat_weight(Fraction(i), meter))
        for i, midi in enumerate(pitches_midi)
    ]
    fit = fit_line(line, scale=A_MINOR)
    assert len(fit.notes) == len(line)
    assert -8 < fit.bits < 2


def _interval(fifths: int) -> Interval:
    name = NoteName.at_fifths(fifths)
    return Interval.between(Pitch.parse("C4"), Pitch(name, 4))


def _transposed(motif: Motif, interval: Interval) -> Motif | None:
    try:
        scale = Scale(interval.above_name(motif.position.scale.root), motif.position.scale.kind)
        notes = tuple(replace(note, pitch=interval.above(note.pitch)) for note in motif.position.notes)
    except ValueError:
        return None
    return Motif(replace(motif.position, scale=scale, notes=notes), motif.steps)


def _moved_chord(chord: Chord, interval: Interval) -> Chord | None:
    try:
        moved = Chord(root=interval.above_name(chord.root), kind=CHORD_KINDS[chord.kind.id])
        return moved if moved.tones and chord.tones else None
    except ValueError:
        return None

"""Spelled pitches, intervals and degrees: what sounds, what is written, and back again."""

from __future__ import annotations

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from theory_strategies import degrees, names, pitches

from phrasewright.theory.interval import Degree, Interval
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.units import hz_from_midi


def in_music21(pitch: Pitch) -> music21.pitch.Pitch:
    return music21.pitch.Pitch(name=str(pitch.name).replace("b", "-"), octave=pitch.octave)


INTERVAL_NAMES = (
    *("P1", "m2", "M2", "A2", "d3", "m3", "M3", "A3", "d4", "P4", "A4", "d5", "P5", "A5", "m6", "M6", "A6"),
    *("d7", "m7", "M7", "P8", "m9", "M9", "A9", "P11", "A11", "m13", "M13"),
)


@pytest.mark.parametrize(
    ("text", "midi", "frequency_hz"),
    [
        ("E2", 40, 82.407),
        ("A2", 45, 110.0),
        ("D3", 50, 146.832),
        ("G3", 55, 195.998),
        ("B3", 59, 246.942),
        ("C4", 60, 261.626),
        ("E4", 64, 329.628),
        ("A4", 69, 440.0),
        ("D6", 86, 1174.659),
        ("B#3", 60, 261.626),
        ("Cb4", 59, 246.942),
    ],
)
def test_pitches_sound(text: str, midi: int, frequency_hz: float) -> None:
    """Open strings, middle C and the edges of the octave sound as ISO 16 tuning says."""
    assert Pitch.parse(text).midi == midi
    assert hz_from_midi(midi) == pytest.approx(frequency_hz, abs=5e-4)


@given(pitches)
def test_pitch_agrees_with_music21(pitch: Pitch) -> None:
    """MIDI number and pitch class are music21's."""
    assert pitch.midi == in_music21(pitch).ps
    assert pitch.name.pitch_class == in_music21(pitch).pitchClass


@given(pitches)
def test_pitch_survives_print_and_read(pitch: Pitch) -> None:
    """Both spellings of a pitch are read back, and its MIDI number with its name gives it again."""
    assert Pitch.parse(str(pitch)) == pitch
    assert Pitch.parse(pitch.printed) == pitch
    assert Pitch.from_midi(pitch.midi, pitch.name) == pitch


@given(st.builds(NoteName, st.sampled_from("CDEFGAB"), st.integers(-3, 3)))
def test_names_survive_print_and_read(name: NoteName) -> None:
    """A name is read back from ASCII, from real signs, in lower case, and from its place on the line of fifths."""
    assert NoteName.parse(str(name)) == NoteName.parse(name.printed) == NoteName.parse(str(name).lower()) == name
    assert NoteName.at_fifths(name.fifths) == name


@pytest.mark.parametrize(("text", "name"), [("Fx", "F##"), ("F𝄪", "F##"), ("B𝄫", "Bbb"), ("G♮", "G"), (" e♭ ", "Eb")])
def test_signs(text: str, name: str) -> None:
    """Double signs and naturals are read."""
    assert str(NoteName.parse(text)) == name


@pytest.mark.parametrize("text", ["", "H", "C####", "1", "C 4", "Cis"])
def test_no_note_names(text: str) -> None:
    """What names no note is refused."""
    with pytest.raises(ValueError, match="not a note name"):
        NoteName.parse(text)


@pytest.mark.parametrize("text", ["", "C", "4", "H4", "C4b"])
def test_no_pitches(text: str) -> None:
    """What is no pitch is refused."""
    with pytest.raises(ValueError, match="not a"):
        Pitch.parse(text)


def test_from_midi_refuses_a_name_that_cannot_sound() -> None:
    """C sharp cannot be written for MIDI 60."""
    with pytest.raises(ValueError, match="cannot be MIDI pitch 60"):
        Pitch.from_midi(60, NoteName("C", 1))


@pytest.mark.parametrize(("letter", "alter"), [("H", 0), ("", 0), ("CD", 0), ("C", 4), ("C", -4)])
def test_names_are_checked(letter: str, alter: int) -> None:
    """A letter outside A to G or more than three accidentals is a programming mistake."""
    with pytest.raises(ValueError, match="must"):
        NoteName(letter, alter)


@given(pitches, pitches)
def test_pitches_are_ordered_by_sound_then_by_staff(first: Pitch, second: Pitch) -> None:
    """A lower pitch comes first; of two that sound alike the one lower on the staff."""
    assert (first < second) == ((first.midi, first.diatonic) < (second.midi, second.diatonic))


@given(pitches, pitches)
def test_interval_leads_back(low: Pitch, high: Pitch) -> None:
    """The interval between two pitches, put on the first, gives the second; turned round, the first."""
    interval = Interval.between(low, high)
    assert interval.above(low) == high
    assert (-interval).above(high) == low


@pytest.mark.parametrize("text", INTERVAL_NAMES)
def test_intervals_agree_with_music21(text: str) -> None:
    """A named interval has music21's size in semitones and staff steps, and keeps its name."""
    interval = Interval.parse(text)
    other = music21.interval.Interval(text)
    assert interval.semitones == other.semitones
    assert interval.steps == other.generic.undirected - 1
    assert str(interval) == text
    assert Interval.parse(f"-{text}") == -interval


@given(st.integers(-21, 21), st.sampled_from(["dd", "d", "m", "P", "M", "A", "AA"]))
def test_interval_names_survive(steps: int, quality: str) -> None:
    """Any interval that has a name is read back from it."""
    try:
        interval = Interval.parse(f"{'-' if steps < 0 else ''}{quality}{abs(steps) + 1}")
    except ValueError as error:
        interval = Interval(0, 0)
        refused = str(error)
    else:
        refused = ""
    perfect = abs(steps) % 7 in (0, 3, 4)
    assert bool(refused) == (quality in ("m", "M") if perfect else quality == "P")
    assert Interval.parse(str(interval)) == interval


@pytest.mark.parametrize("text", ["", "5", "P0", "M5", "P3", "X4", "P-4"])
def test_no_intervals(text: str) -> None:
    """What names no interval is refused."""
    with pytest.raises(ValueError, match="interval"):
        Interval.parse(text)


@given(degrees)
def test_degrees_survive_print_and_read(degree: Degree) -> None:
    """A degree is read back from ASCII and from real signs."""
    assert Degree.parse(str(degree)) == Degree.parse(degree.printed) == degree


@given(degrees, st.sampled_from("CDEFGAB"))
def test_a_degree_is_spelled_by_its_number(degree: Degree, letter: str) -> None:
    """A third is always three letters up; its sound is the sum of the root's and its own semitones."""
    root = NoteName(letter)
    try:
        tone = degree.above(root)
    except ValueError:
        tone = None
    if tone is None:
        assert abs(degree.alter) == 2  # for example ##7 of B: no such accidental
    else:
        assert "CDEFGAB".index(tone.letter) == ("CDEFGAB".index(letter) + degree.number - 1) % 7
        assert tone.pitch_class == (root.pitch_class + degree.semitones) % 12


@pytest.mark.parametrize(
    ("degree", "root", "tone"),
    [
        ("b3", "C", "Eb"),
        ("#4", "F", "B"),
        ("b7", "F", "Eb"),
        ("4", "F", "Bb"),
        ("b5", "B", "F"),
        ("#11", "Bb", "E"),
        ("bb7", "C", "Bbb"),
        ("#9", "E", "F##"),
        ("b13", "Ab", "Fb"),
        ("3", "G#", "B#"),
    ],
)
def test_degree_spelling(degree: str, root: str, tone: str) -> None:
    """Degrees spell as players read them (common practice): the fourth of F is B flat, never A sharp."""
    assert str(Degree.parse(degree).above(NoteName.parse(root))) == tone


@pytest.mark.parametrize(("degree", "simple"), [("9", "2"), ("b13", "b6"), ("#11", "#4"), ("8", "1"), ("5", "5")])
def test_simple_degrees(degree: str, simple: str) -> None:
    """Within one octave a ninth is a second."""
    assert Degree.parse(degree).simple == Degree.parse(simple)


@pytest.mark.parametrize("text", ["", "0", "16", "b", "5b", "x3", "###1"])
def test_no_degrees(text: str) -> None:
    """What is no degree is refused."""
    with pytest.raises(ValueError, match="not a degree"):
        Degree.parse(text)


@given(names)
def test_an_interval_above_a_name_keeps_no_octave(name: NoteName) -> None:
    """A perfect octave above a name is the name."""
    assert Interval.parse("P8").above_name(name) == name

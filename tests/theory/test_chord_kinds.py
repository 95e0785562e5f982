"""Chord kinds: tones and spelling against music21 on every root, and what alterations do."""

from __future__ import annotations

import music21
import pytest
from hypothesis import given
from theory_strategies import chords

from phrasewright.theory.chord import CHORD_KINDS, Action, Alteration, Chord, tidy_chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import LETTERS, NoteName

ROOTS = [NoteName(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]
MUSIC21_NAMES = {
    "dominant": "dominant-seventh",
    "half-diminished": "half-diminished-seventh",
    "major-minor": "minor-major-seventh",
}
FROM_THE_TONIC = ("Italian", "French", "German")  # music21 counts these from the key's tonic, we from the bass
KINDS_OF_MUSICXML = """major minor augmented diminished dominant major-seventh minor-seventh diminished-seventh
augmented-seventh half-diminished major-minor major-sixth minor-sixth dominant-ninth major-ninth minor-ninth
dominant-11th major-11th minor-11th dominant-13th major-13th minor-13th suspended-second suspended-fourth Neapolitan
Italian French German pedal power Tristan"""
FORTE = {  # Forte (1973)
    "major": "3-11B", "minor": "3-11A", "diminished": "3-10", "augmented": "3-12", "suspended-fourth": "3-9",
    "suspended-second": "3-9", "dominant": "4-27B", "half-diminished": "4-27A", "minor-seventh": "4-26",
    "major-sixth": "4-26", "major-seventh": "4-20", "diminished-seventh": "4-28", "major-minor": "4-19A",
    "augmented-seventh": "4-24", "dominant-ninth": "5-34",
}  # fmt: skip


def music21_chord(root: NoteName, kind: str) -> list[str]:
    symbol = music21.harmony.ChordSymbol(root=str(root).replace("b", "-"), kind=MUSIC21_NAMES.get(kind, kind))
    return [pitch.name.replace("-", "b") for pitch in symbol.pitches]


def test_kinds_are_those_of_musicxml() -> None:
    """The table holds the 31 kinds of MusicXML 4.0 that name tones (all but ``other`` and ``none``)."""
    assert set(CHORD_KINDS) == set(KINDS_OF_MUSICXML.split())
    assert len(CHORD_KINDS) == 31


@pytest.mark.parametrize("kind", [kind for kind in CHORD_KINDS if kind not in (*FROM_THE_TONIC, "Neapolitan")])
def test_tones_agree_with_music21(kind: str) -> None:
    """Every kind on every root has music21's tones, spelled alike."""
    for root in ROOTS:
        tones = [str(tone) for tone in Chord(root=root, kind=CHORD_KINDS[kind]).tones]
        assert sorted(tones) == sorted(music21_chord(root, kind))


@pytest.mark.parametrize("tonic", ["C", "G", "F", "D", "Bb", "A", "Eb", "E"])
@pytest.mark.parametrize("kind", FROM_THE_TONIC)
def test_augmented_sixths_stand_on_the_flat_sixth(kind: str, tonic: str) -> None:
    """An augmented sixth chord is named from its bass here, from the key's tonic in music21: the tones agree."""
    bass = Degree.parse("b6").above(NoteName.parse(tonic))
    tones = [str(tone) for tone in Chord(root=bass, kind=CHORD_KINDS[kind]).tones]
    assert sorted(tones) == sorted(music21_chord(NoteName.parse(tonic), kind))


def test_neapolitan_is_a_major_triad() -> None:
    """In C the Neapolitan is D flat major; music21 10.5 gives C D flat E G flat for it, which no textbook does."""
    chord = Chord(root=NoteName("D", -1), kind=CHORD_KINDS["Neapolitan"])
    assert [str(tone) for tone in chord.tones] == ["Db", "F", "Ab"]
    assert sorted(music21_chord(NoteName("C"), "Neapolitan")) == ["C", "Db", "E", "Gb"]


@pytest.mark.parametrize(("kind", "forte"), FORTE.items())
def test_set_classes(kind: str, forte: str) -> None:
    """Chord kinds belong to their set classes (Forte 1973, computed by music21)."""
    pitch_classes = [degree.semitones for degree in CHORD_KINDS[kind].degrees]
    assert music21.chord.Chord(pitch_classes).forteClass == forte


@pytest.mark.parametrize(
    ("symbol", "tones"),
    [
        ("Cmaj7", "C E G B"),
        ("F#m7b5", "F# A C E"),
        ("Bb7", "Bb D F Ab"),
        ("Cdim7", "C Eb Gb Bbb"),
        ("Dbm", "Db Fb Ab"),
        ("G7alt", "G B F Ab A# C# Eb"),
        ("E7#9", "E G# B D F##"),
    ],
)
def test_chord_tones(symbol: str, tones: str) -> None:
    """A symbol spells its tones from the root up."""
    assert " ".join(str(tone) for tone in parse_chord(symbol).tones) == tones


@given(chords())
def test_degree_of_names_each_tone(chord: Chord) -> None:
    """The degree of a chord tone sounds as that tone; other pitch classes have none."""
    sounding = {degree.above(chord.root).pitch_class for degree in chord.degrees}
    for pitch_class in range(12):
        degree = chord.degree_of(pitch_class)
        assert (degree is not None) == (pitch_class in sounding)
        assert degree is None or degree.above(chord.root).pitch_class == pitch_class


@given(chords())
def test_pitch_classes_hold_the_bass(chord: Chord) -> None:
    """What sounds is the tones and the slash bass."""
    tones = {tone.pitch_class for tone in chord.tones}
    bass = set() if chord.bass is None else {chord.bass.pitch_class}
    assert chord.pitch_classes == tones | bass


def test_alterations_in_turn() -> None:
    """Alter replaces, add joins, subtract takes away."""
    changes = (
        Alteration(Action.ALTER, Degree(5, -1)),
        Alteration(Action.ADD, Degree(9)),
        Alteration(Action.SUBTRACT, Degree(3)),
    )
    chord = Chord(root=NoteName("C"), kind=CHORD_KINDS["dominant"], alterations=changes)
    assert " ".join(str(degree) for degree in chord.degrees) == "1 b5 b7 9"


@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        ("minor-seventh", "1 b3 b5 b7", "Cm7b5"),
        ("dominant", "1 3 #5 b7", "Caug7"),
        ("major", "1 5", "C5"),
        ("major", "1 3 5 b7 9", "C9"),
        ("dominant", "1 3 b7 b9 #9 #11 b13", "C7alt"),
        ("major-sixth", "1 3 5 6 9", "C69"),
        ("dominant", "1 3 5 #5 b7", "C7(add#5)"),
        ("dominant", "1 3 b5 #5 b7", "Caug7(addb5)"),
    ],
)
def test_the_plain_way_to_say_it(kind: str, degrees: str, symbol: str) -> None:
    """Tones that another kind says plainly are called by that kind (common practice)."""
    words = tuple(Degree.parse(word) for word in degrees.split())
    assert tidy_chord(NoteName("C"), CHORD_KINDS[kind], words).symbol == symbol

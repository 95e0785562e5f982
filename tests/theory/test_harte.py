"""Harte chord labels: the shorthands agree with the kinds and with mir_eval, and every open label is read."""

from __future__ import annotations

import csv
from pathlib import Path

import mir_eval.chord
import numpy as np
import pytest
from hypothesis import given
from theory_strategies import chords

from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import ChordSymbolError
from phrasewright.theory.harte import HARTE_SHORTHANDS, harte_label, parse_harte

# Harte et al. (2005) as listed in mir_eval 0.8.2: semitones above the root.
BITMAPS = {
    "maj": "0 4 7",
    "min": "0 3 7",
    "aug": "0 4 8",
    "dim": "0 3 6",
    "sus4": "0 5 7",
    "sus2": "0 2 7",
    "7": "0 4 7 10",
    "maj7": "0 4 7 11",
    "min7": "0 3 7 10",
    "minmaj7": "0 3 7 11",
    "maj6": "0 4 7 9",
    "min6": "0 3 7 9",
    "dim7": "0 3 6 9",
    "hdim7": "0 3 6 10",
    "9": "0 2 4 7 10",
    "b9": "0 1 4 7 10",
    "#9": "0 3 4 7 10",
}


ALTERED = ("b9", "#9", "#11", "b13")  # mir_eval knows what they hold but does not read them in a label


def mir_eval_pitch_classes(label: str) -> frozenset[int]:
    """Pitch classes that mir_eval gives a label, bass included."""
    root, bitmap, bass = mir_eval.chord.encode(label, reduce_extended_chords=True)
    return frozenset(int(pc + root) % 12 for pc in np.flatnonzero(bitmap)) | {int(root + bass) % 12}


def read(label: str) -> Chord:
    chord = parse_harte(label)
    assert chord is not None
    return chord


@pytest.mark.parametrize(("shorthand", "semitones"), BITMAPS.items())
def test_shorthand_bitmaps(shorthand: str, semitones: str) -> None:
    """A shorthand holds the semitones of its published bitmap (Harte et al. 2005)."""
    expected = {int(word) for word in semitones.split()}
    assert {degree.semitones for degree in HARTE_SHORTHANDS[shorthand]} == expected
    assert read(f"C:{shorthand}").pitch_classes == expected


@pytest.mark.parametrize("shorthand", [word for word in HARTE_SHORTHANDS if word not in ALTERED])
def test_shorthands_agree_with_mir_eval(shorthand: str) -> None:
    """Every shorthand on every root has mir_eval's pitch classes."""
    for root in ["C", "Db", "C#", "D", "Eb", "D#", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"]:
        label = f"{root}:{shorthand}"
        assert read(label).pitch_classes == mir_eval_pitch_classes(label)


@pytest.mark.parametrize("shorthand", ALTERED)
def test_altered_shorthands_agree_with_mir_eval(shorthand: str) -> None:
    """The altered extensions hold what mir_eval reduces them to."""
    base, extensions = mir_eval.chord.EXTENDED_QUALITY_REDUX[shorthand]
    assert read(f"E:{shorthand}").pitch_classes == mir_eval_pitch_classes(f"E:{base}({','.join(sorted(extensions))})")


@pytest.mark.parametrize(
    ("label", "symbol"),
    [
        ("C", "C"),
        ("C/3", "C/E"),
        ("E:7/3", "E7/G#"),
        ("Bb:min7(*5)/b7", "Bbm7(no5)/Ab"),
        ("A:7(#9,*5)", "A7(no5,#9)"),
        ("G:maj(2)", "G(add2)"),
        ("F#:hdim7/b5", "F#m7b5/C"),
        ("C:(1,5)", "C5"),
        ("C:(1,5,b7)/b7", "C7(no3)/Bb"),
        ("D:aug(b7)", "Daug7"),
        ("D:maj/1", "D"),
    ],
)
def test_labels(label: str, symbol: str) -> None:
    """Labels are read as the chord a chart would write."""
    assert read(label).symbol == symbol


@pytest.mark.parametrize("label", ["N", "X", " N "])
def test_no_chord(label: str) -> None:
    """N and X name no chord."""
    assert parse_harte(label) is None


def test_none_is_written_as_n() -> None:
    """No chord is written N."""
    assert harte_label(None) == "N"


@given(chords())
def test_label_survives_write_and_read(chord: Chord) -> None:
    """Written and read back a chord keeps root, degrees and bass."""
    again = read(harte_label(chord))
    assert (again.root, again.degrees, again.bass) == (chord.root, chord.degrees, chord.bass)


@pytest.mark.parametrize(
    ("label", "column"),
    [("", 0), ("H:maj", 0), ("C:foo", 2), ("C:maj(x)", 6), ("C:maj(99)", 6), ("C:maj/", 0), ("C###:maj", 1)],
)
def test_errors(label: str, column: int) -> None:
    """What is no label is refused with a column and a hint."""
    with pytest.raises(ChordSymbolError) as caught:
        parse_harte(label)
    assert caught.value.column == column
    assert caught.value.hint


def test_every_guitarset_label(data_dir: Path) -> None:
    """Every chord label of GuitarSet is read, written and read again, with mir_eval's pitch classes."""
    labels = set()
    for path in sorted((data_dir / "guitarset" / "chords").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            labels |= {row["label"] for row in csv.DictReader(file)}
    assert len(labels) > 400
    for label in sorted(labels):
        chord = parse_harte(label)
        if chord is None:
            assert label == "N"
            continue
        assert chord.pitch_classes == mir_eval_pitch_classes(label), label
        again = read(harte_label(chord))
        assert (again.root, again.degrees, again.bass) == (chord.root, chord.degrees, chord.bass), label

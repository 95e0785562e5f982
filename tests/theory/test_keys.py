"""Keys and signatures against music21."""

from __future__ import annotations

import music21
import pytest

from phrasewright.theory.key import Key, Mode, signature_alter
from phrasewright.theory.pitch import LETTERS, NoteName


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_signature_alters_agree_with_music21(fifths: int) -> None:
    """Each letter is sharpened or flattened as music21's key signature says."""
    signature = music21.key.KeySignature(fifths)
    for letter in LETTERS:
        accidental = signature.accidentalByStep(letter)
        assert signature_alter(fifths, letter) == (0 if accidental is None else accidental.alter)


@pytest.mark.parametrize(
    ("tonic", "mode", "fifths"),
    [
        ("C", "major", 0),
        ("A", "minor", 0),
        ("Eb", "major", -3),
        ("F#", "minor", 3),
        ("Gb", "major", -6),
        ("D#", "minor", 6),
    ],
)
def test_keys(tonic: str, mode: str, fifths: int) -> None:
    """A key has its signature (common practice), and the signature with the mode gives the key."""
    key = Key(NoteName.parse(tonic), Mode(mode))
    assert key.fifths == fifths
    assert Key.of_signature(fifths, Mode(mode)) == key
    assert str(key) == f"{tonic} {mode}"
    assert music21.key.Key(tonic.replace("b", "-"), mode).sharps == fifths


@pytest.mark.parametrize("fifths", range(-14, 15))
def test_signatures_beyond_seven_alter_twice(fifths: int) -> None:
    """The sharps or flats of a signature count up to the signature's number, also past seven."""
    assert sum(signature_alter(fifths, letter) for letter in LETTERS) == fifths

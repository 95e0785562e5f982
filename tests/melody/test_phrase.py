"""Phrases: a motif, a count and the rest that follows."""

from __future__ import annotations

from fractions import Fraction

import pytest
from melody_strategies import open_a_minor

from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)
MOTIF = Motif(open_a_minor(), (0, 1, 2))


def test_a_phrase_has_length_and_space() -> None:
    """Three quarters of sound in two bars of four leave five eighths silent."""
    phrase = Phrase(MOTIF, parse_count("1 2 3", FOUR), 1)
    assert (phrase.bars, phrase.length, phrase.space) == (2, 8, Fraction(5, 8))


def test_its_notes_know_place_finger_degree_and_letter() -> None:
    """Begun at 8, the notes carry what the position knows, and only the first the label."""
    notes = Phrase(MOTIF, parse_count("1 & 2", FOUR)).notes(Fraction(8), label="A")
    assert [note.onset for note in notes] == [8, Fraction(17, 2), 9]
    assert [str(note.pitch) for note in notes] == ["A2", "C3", "D3"]
    assert [(note.place.string, note.place.fret) for note in notes if note.place] == [(5, 0), (5, 3), (4, 0)]
    assert [note.finger for note in notes] == [0, 3, 0]
    assert [str(note.degree) for note in notes] == ["1", "b3", "4"]
    assert [note.label for note in notes] == ["A", "", ""]


def test_a_count_must_have_as_many_strokes_as_notes() -> None:
    """Four strokes do not fit three notes; negative rest does not exist."""
    with pytest.raises(ValueError, match="4 notes, the motif has 3"):
        Phrase(MOTIF, parse_count("1 2 3 4", FOUR))
    with pytest.raises(ValueError, match="rest_bars"):
        Phrase(MOTIF, parse_count("1 2 3", FOUR), -1)

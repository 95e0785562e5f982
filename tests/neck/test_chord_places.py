"""Chord tones inside a position."""

from __future__ import annotations

from neck_strategies import scale

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.chord_tones import chord_places
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import find_position, open_position
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.pitch import NoteName

GUITAR = instrument("guitar")
A_MINOR_PENTATONIC = scale("A", "minor-pentatonic")


def _chord(root: str, kind: str) -> Chord:
    return Chord(root=NoteName.parse(root), kind=CHORD_KINDS[kind])


def test_chord_tones_keep_both_degrees() -> None:
    """D minor seventh in A minor pentatonic: D, A and C, a root, a fifth and a seventh of the chord."""
    position = open_position(A_MINOR_PENTATONIC, GUITAR, lowest_string=5)
    found = chord_places(position, _chord("D", "minor-seventh"))
    assert [(str(one.note.pitch), str(one.note.degree), str(one.degree)) for one in found] == [
        ("A2", "1", "5"),
        ("C3", "b3", "b7"),
        ("D3", "4", "1"),
        ("A3", "1", "5"),
        ("C4", "b3", "b7"),
        ("D4", "4", "1"),
    ]


def test_added_notes_count() -> None:
    """The added A is a chord tone of A minor too."""
    request = PositionRequest(style=PositionStyle.OPEN, lowest_string=5, added_above=1)
    found = chord_places(find_position(A_MINOR_PENTATONIC, GUITAR, request), _chord("A", "minor"))
    assert found[-1].note.added
    assert str(found[-1].degree) == "1"


def test_a_chord_far_away_has_no_tones_here() -> None:
    """F sharp major shares nothing with A minor pentatonic."""
    position = open_position(A_MINOR_PENTATONIC, GUITAR)
    assert chord_places(position, _chord("F#", "major")) == ()

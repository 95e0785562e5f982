"""Shapes that every teacher knows, fret by fret, out of a search that knows none of them (common practice)."""

from __future__ import annotations

import pytest
from neck_strategies import fingers, frets, scale

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import all_boxes, box, find_position, one_string, open_position, three_per_string

GUITAR = instrument("guitar")
A_MINOR_PENTATONIC = scale("A", "minor-pentatonic")
G_MAJOR = scale("G", "major")

PENTATONIC_BOXES = [
    ("G", 2, "3 5 | 3 5 | 2 5 | 2 5 | 3 5 | 3 5"),
    ("A", 5, "5 8 | 5 7 | 5 7 | 5 7 | 5 8 | 5 8"),
    ("C", 7, "8 10 | 7 10 | 7 10 | 7 9 | 8 10 | 8 10"),
    ("D", 9, "10 12 | 10 12 | 10 12 | 9 12 | 10 13 | 10 12"),
    ("E", 12, "12 15 | 12 15 | 12 14 | 12 14 | 13 15 | 12 15"),
]
THREE_PER_STRING = [
    ("G", 3, "3 5 7 | 3 5 7 | 4 5 7 | 4 5 7 | 5 7 8 | 5 7 8"),
    ("A", 5, "5 7 8 | 5 7 9 | 5 7 9 | 5 7 9 | 7 8 10 | 7 8 10"),
    ("B", 7, "7 8 10 | 7 9 10 | 7 9 10 | 7 9 11 | 8 10 12 | 8 10 12"),
    ("C", 8, "8 10 12 | 9 10 12 | 9 10 12 | 9 11 12 | 10 12 13 | 10 12 14"),
    ("D", 10, "10 12 14 | 10 12 14 | 10 12 14 | 11 12 14 | 12 13 15 | 12 14 15"),
    ("E", 0, "0 2 3 | 0 2 3 | 0 2 4 | 0 2 4 | 1 3 5 | 2 3 5"),
    ("F#", 2, "2 3 5 | 2 3 5 | 2 4 5 | 2 4 5 | 3 5 7 | 3 5 7"),
]
BLUES_BOXES = [
    "3 5 | 3 5 6 | 2 5 | 2 5 | 3 4 5 | 3 5",
    "5 8 | 5 6 7 | 5 7 | 5 7 8 | 5 8 | 5 8",
    "8 10 11 | 7 10 | 7 10 | 7 8 9 | 8 10 | 8 10",
    "10 11 12 | 10 12 | 10 12 13 | 9 12 | 10 13 | 10 11 12",
    "12 15 | 12 15 | 12 13 14 | 12 14 | 13 15 16 | 12 15",
]
MAJOR_BOXES = [
    "2 3 5 | 2 3 5 | 2 4 5 | 2 4 5 | 3 5 | 2 3 5",
    "5 7 8 | 5 7 | 4 5 7 | 4 5 7 | 5 7 8 | 5 7 8",
    "7 8 10 | 7 9 10 | 7 9 10 | 7 9 | 7 8 10 | 7 8 10",
    "10 12 | 9 10 12 | 9 10 12 | 9 11 12 | 10 12 13 | 10 12",
    "12 14 15 | 12 14 15 | 12 14 | 11 12 14 | 12 13 15 | 12 14 15",
]


def test_a_minor_pentatonic_in_open_position() -> None:
    """Fifth string up: open 3, open 2, open 2, 1 3, open 3; ten notes in two cycles of five."""
    position = open_position(A_MINOR_PENTATONIC, GUITAR, lowest_string=5)
    assert frets(position) == "0 3 | 0 2 | 0 2 | 1 3 | 0 3"
    assert fingers(position) == "0 3 | 0 2 | 0 2 | 1 3 | 0 3"
    assert [note.cycle for note in position.notes] == [1] * 5 + [2] * 5
    assert " ".join(str(note.degree) for note in position.notes) == "1 b3 4 5 b7 1 b3 4 5 b7"
    assert " ".join(str(note.pitch) for note in position.notes) == "A2 C3 D3 E3 G3 A3 C4 D4 E4 G4"
    assert position.name == "A minor pentatonic, open position"


def test_the_open_position_takes_an_added_high_a() -> None:
    """The optional A at fret 5 of the first string falls to the little finger and begins a third cycle."""
    request = PositionRequest(style=PositionStyle.OPEN, lowest_string=5, added_above=1)
    position = find_position(A_MINOR_PENTATONIC, GUITAR, request)
    added = position.notes[-1]
    assert (added.place.string, added.place.fret, added.finger, str(added.pitch)) == (1, 5, 4, "A4")
    assert (added.added, added.cycle, str(added.degree)) == (True, 3, "1")
    assert [note.added for note in position.notes[:-1]] == [False] * 10
    assert position.own_notes == open_position(A_MINOR_PENTATONIC, GUITAR, lowest_string=5).notes


def test_a_note_added_below_is_found_under_the_hand() -> None:
    """Below the fifth string's open A lies the G of the sixth string, under the third finger, before cycle 1."""
    request = PositionRequest(style=PositionStyle.OPEN, lowest_string=5, added_below=1)
    added = find_position(A_MINOR_PENTATONIC, GUITAR, request).notes[0]
    assert (added.place.string, added.place.fret, added.finger, added.cycle) == (6, 3, 3, 0)


@pytest.mark.parametrize(("lowest", "fret", "shape"), PENTATONIC_BOXES)
def test_the_pentatonic_boxes(lowest: str, fret: int, shape: str) -> None:
    """Each of the five A minor pentatonic boxes answers to its lowest fret and begins on its note."""
    position = box(A_MINOR_PENTATONIC, GUITAR, near_fret=fret)
    assert frets(position) == shape
    assert str(position.notes[0].pitch.name) == lowest
    assert position.where == f"box at fret {fret}"


def test_the_open_box_is_the_twelfth_fret_box_an_octave_down() -> None:
    """From E the box lies on frets 0 to 3, or twelve frets up."""
    assert frets(open_position(A_MINOR_PENTATONIC, GUITAR)) == "0 3 | 0 3 | 0 2 | 0 2 | 1 3 | 0 3"


@pytest.mark.parametrize(
    ("root", "kind", "shapes"),
    [
        ("A", "minor-pentatonic", [shape for _, _, shape in PENTATONIC_BOXES]),
        ("A", "blues", BLUES_BOXES),
        ("G", "major", MAJOR_BOXES),
    ],
)
def test_there_are_five_boxes(root: str, kind: str, shapes: list[str]) -> None:
    """The distinct movable shapes, lowest first."""
    assert [frets(position) for position in all_boxes(scale(root, kind), GUITAR)] == shapes


@pytest.mark.parametrize(("lowest", "fret", "shape"), THREE_PER_STRING)
def test_three_notes_per_string(lowest: str, fret: int, shape: str) -> None:
    """The seven G major shapes with three notes on every string: eighteen notes each."""
    position = three_per_string(G_MAJOR, GUITAR, near_fret=fret)
    assert frets(position) == shape
    assert str(position.notes[0].pitch.name) == lowest
    assert len(position.notes) == 18
    assert max(note.cycle for note in position.notes) == 3


@pytest.mark.parametrize(
    ("fret", "expected"),
    [(3, "1 2 4 | 1 2 4 | 1 2 4 | 1 2 4 | 1 3 4 | 1 3 4"), (0, "0 2 3 | 0 2 3 | 0 2 4 | 0 2 4 | 1 2 4 | 1 2 4")],
)
def test_three_per_string_fingers(fret: int, expected: str) -> None:
    """Two whole steps 1 2 4, a half step first 1 2 4, a half step last 1 3 4; near the nut finger equals fret."""
    assert fingers(three_per_string(G_MAJOR, GUITAR, near_fret=fret)) == expected


@pytest.mark.parametrize(
    ("fret", "expected"),
    [
        (5, "1 4 | 1 3 | 1 3 | 1 3 | 1 4 | 1 4"),
        (7, "2 4 | 1 4 | 1 4 | 1 3 | 2 4 | 2 4"),
        (9, "1 3 | 1 3 | 1 3 | 1 3 | 1 4 | 1 3"),
    ],
)
def test_box_fingers(fret: int, expected: str) -> None:
    """One finger per fret; where five frets are needed the index finger stretches back."""
    assert fingers(box(A_MINOR_PENTATONIC, GUITAR, near_fret=fret)) == expected


@pytest.mark.parametrize(
    ("name", "tuning", "root", "shape"),
    [
        ("guitar", "standard", "C", "0 1 3 | 0 2 3 | 0 2 3 | 0 2 | 0 1 3 | 0 1 3"),
        ("guitar", "drop-d", "D", "0 2 4 5 | 0 2 4 | 0 2 4 | 0 2 | 0 2 3 | 0 2 3"),
        ("ukulele", "standard", "C", "0 2 | 0 1 3 | 0 2 3"),
        ("ukulele", "low-g", "C", "0 2 4 | 0 2 | 0 1 3 | 0 2 3"),
        ("mandolin", "standard", "G", "0 2 4 5 | 0 2 4 5 | 0 2 3 5 | 0 2 3 5"),
        ("bass", "standard", "G", "0 2 3 | 0 2 3 | 0 2 4 | 0 2 4"),
    ],
)
def test_open_major_scales(name: str, tuning: str, root: str, shape: str) -> None:
    """The first major scale of each instrument; the ukulele's high G string is not needed for it."""
    assert frets(open_position(scale(root, "major"), instrument(name, tuning=tuning))) == shape


def test_mandolin_fingers_cover_two_frets_each() -> None:
    """Strings in fifths: frets 2, 4, 5 fall to fingers 1, 2, 3."""
    position = open_position(scale("G", "major"), instrument("mandolin"))
    assert fingers(position) == "0 1 2 3 | 0 1 2 3 | 0 1 2 3 | 0 1 2 3"


def test_a_capo_is_the_new_nut() -> None:
    """C minor pentatonic with a capo at 3 is played as A minor pentatonic is without."""
    position = open_position(scale("C", "minor-pentatonic"), instrument("guitar", capo=3), lowest_string=5)
    assert frets(position) == "3 6 | 3 5 | 3 5 | 4 6 | 3 6"
    assert fingers(position) == "0 3 | 0 2 | 0 2 | 1 3 | 0 3"
    assert position.name == "C minor pentatonic, capo 3 position"


def test_along_one_string() -> None:
    """G major from the third fret of the first string: an octave, the hand moving when fingers run out."""
    position = one_string(G_MAJOR, GUITAR, 1, near_fret=3)
    assert frets(position) == "3 5 7 8 10 12 14 15"
    assert position.where == "along string 1 from fret 3"
    assert [note.cycle for note in position.notes] == [1] * 7 + [2]
    assert frets(one_string(A_MINOR_PENTATONIC, GUITAR, 5)) == "0 3 5 7 10 12"


def test_without_a_fret_a_position_begins_on_the_root_where_it_can() -> None:
    """Asked for no fret, the pentatonic box is the one from the root, and so is the run."""
    assert box(A_MINOR_PENTATONIC, GUITAR).where == "box at fret 5"
    assert three_per_string(G_MAJOR, GUITAR).where == "three notes per string from fret 3"


@pytest.mark.parametrize(
    ("tuning", "root", "kind", "stretch_mm"),
    [
        ("standard", "E", "minor-pentatonic", 32.4),  # frets 2 to 3 on different strings
        ("standard", "E", "major", 97.3),  # frets 1 to 4
        ("drop-d", "D", "major", 91.9),  # frets 2 to 5 on the sixth string
    ],
)
def test_open_positions_are_measured_over_the_first_frets(tuning: str, root: str, kind: str, stretch_mm: float) -> None:
    """One hand covers the first four frets; a fifth fret counts on its own string."""
    position = open_position(scale(root, kind), instrument("guitar", tuning=tuning))
    assert position.stretch_mm == pytest.approx(stretch_mm, abs=0.1)

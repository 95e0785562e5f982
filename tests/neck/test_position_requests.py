"""What is refused, in which words, and what is offered instead."""

from __future__ import annotations

import pytest
from neck_strategies import frets, scale

from phrasewright.errors import NeckError
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import all_boxes, box, find_position, one_string, open_position, three_per_string

GUITAR = instrument("guitar")
A_MINOR_PENTATONIC = scale("A", "minor-pentatonic")


def test_a_hand_too_small_is_told_in_millimetres() -> None:
    """The refusal names frets, mm and limit, and offers boxes further up."""
    with pytest.raises(NeckError) as caught:
        box(A_MINOR_PENTATONIC, GUITAR, near_fret=3, max_stretch_mm=80.0)
    assert caught.value.message == (
        "A minor pentatonic, box at fret 3: one grasp would reach from fret 2 to 5, 92 mm on guitar, "
        "and the hand's limit is 80 mm."
    )
    assert caught.value.alternatives == ("box at fret 5", "box at fret 7", "box at fret 9")


def test_a_small_hand_gets_what_fits_it() -> None:
    """With 70 mm the boxes come where they are narrow enough."""
    boxes = all_boxes(A_MINOR_PENTATONIC, GUITAR, max_stretch_mm=70.0)
    assert [position.where for position in boxes] == [
        "box at fret 7",
        "box at fret 12",
        "box at fret 14",
        "box at fret 17",
    ]


def test_a_run_that_needs_a_wider_hand() -> None:
    """Three pentatonic notes on a string at the third fret span five frets."""
    with pytest.raises(NeckError, match=r"from fret 3 to 8, 139 mm|from fret \d+ to \d+") as caught:
        three_per_string(A_MINOR_PENTATONIC, GUITAR, near_fret=3)
    assert caught.value.alternatives[0] == "three notes per string from fret 5"


def test_an_open_position_cannot_move() -> None:
    """Fret 5 and open exclude each other; boxes near fret 5 are offered."""
    with pytest.raises(NeckError, match="lies at the nut; it cannot be moved to fret 5") as caught:
        find_position(A_MINOR_PENTATONIC, GUITAR, PositionRequest(style=PositionStyle.OPEN, fret=5))
    assert caught.value.alternatives[0] == "box at fret 5"
    with pytest.raises(NeckError, match="lies at the capo"):
        find_position(
            A_MINOR_PENTATONIC, instrument("guitar", capo=2), PositionRequest(style=PositionStyle.OPEN, fret=5)
        )


def test_a_fret_off_the_neck() -> None:
    """The last fret is named and the highest boxes are offered."""
    with pytest.raises(NeckError, match="There is no fret 30 on guitar: the last is 22") as caught:
        box(A_MINOR_PENTATONIC, GUITAR, near_fret=30)
    assert caught.value.alternatives[0] == "box at fret 19"


@pytest.mark.parametrize(("lowest", "highest"), [(7, None), (3, 4), (6, 0), (-1, 1)])
def test_strings_that_do_not_exist(lowest: int, highest: int | None) -> None:
    """Strings are numbered from 1, and the lowest has the larger number."""
    request = PositionRequest(style=PositionStyle.BOX, lowest_string=lowest, highest_string=highest)
    with pytest.raises(NeckError, match="it has strings 1 to 6") as caught:
        find_position(A_MINOR_PENTATONIC, GUITAR, request)
    assert caught.value.alternatives == ("strings 6 to 1",)
    with pytest.raises(NeckError, match="it has strings 1 to 6"):
        one_string(A_MINOR_PENTATONIC, GUITAR, 7)


def test_too_many_added_notes() -> None:
    """Notes may be added five frets past the hand and no further."""
    request = PositionRequest(style=PositionStyle.BOX, fret=5, added_above=2)
    assert frets(find_position(A_MINOR_PENTATONIC, GUITAR, request)).endswith("5 8 10 12")
    with pytest.raises(NeckError, match="No room for 3 added notes above") as caught:
        find_position(A_MINOR_PENTATONIC, GUITAR, PositionRequest(style=PositionStyle.BOX, fret=5, added_above=3))
    assert caught.value.alternatives == ("2 added notes above",)
    with pytest.raises(NeckError, match="No room for 1 added note below"):
        find_position(A_MINOR_PENTATONIC, GUITAR, PositionRequest(style=PositionStyle.OPEN, added_below=1))


def test_an_open_position_out_of_reach() -> None:
    """In fifths on a guitar's long neck the first frets of D major cannot be held; the refusal says how far it is."""
    with pytest.raises(NeckError, match="from fret 1 to 6, 153 mm") as caught:
        open_position(scale("D", "major"), instrument("guitar", tuning="all-fifths"))
    assert len(caught.value.alternatives) == 3


def test_an_open_position_on_fewer_strings_is_offered() -> None:
    """In drop D the sixth string's G sharp of E major is out of reach; from the fifth string up it can be had."""
    drop_d = instrument("guitar", tuning="drop-d")
    with pytest.raises(NeckError, match="153 mm") as caught:
        open_position(scale("E", "major"), drop_d)
    assert caught.value.alternatives[0] == "open position, string 5 up"
    assert frets(open_position(scale("E", "major"), drop_d, lowest_string=5)) == "0 2 4 | 1 2 4 | 1 2 | 0 2 4 | 0 2 4"


def test_a_fret_between_two_boxes_goes_to_the_nearer_or_easier() -> None:
    """Fret 6 lies one fret from two boxes; a box answers to every fret between its lowest and its index finger."""
    assert box(A_MINOR_PENTATONIC, GUITAR, near_fret=6).where == "box at fret 5"
    assert box(A_MINOR_PENTATONIC, GUITAR, near_fret=3).where == "box at fret 2"
    assert box(A_MINOR_PENTATONIC, GUITAR, near_fret=8).where == "box at fret 7"


def test_a_position_may_use_some_strings_only() -> None:
    """The top three strings of the box at fret 5."""
    assert frets(box(A_MINOR_PENTATONIC, GUITAR, near_fret=5, lowest_string=3)) == "5 7 | 5 8 | 5 8"
    assert frets(box(A_MINOR_PENTATONIC, GUITAR, near_fret=5, highest_string=4)) == "5 8 | 5 7 | 5 7"


def test_two_or_four_notes_per_string() -> None:
    """Two per string of a pentatonic is its box; four per string of a major scale needs a wide hand or high frets."""
    assert frets(three_per_string(A_MINOR_PENTATONIC, GUITAR, near_fret=5, notes_per_string=2)) == (
        "5 8 | 5 7 | 5 7 | 5 7 | 5 8 | 5 8"
    )
    position = three_per_string(scale("E", "major"), GUITAR, near_fret=12, notes_per_string=4, highest_string=4)
    assert frets(position) == "12 14 16 17 | 14 16 18 19 | 16 18 19 21"
    assert position.where == "four notes per string from fret 12"


@pytest.mark.parametrize(
    "wrong",
    [{"fret": -1}, {"notes_per_string": 1}, {"notes_per_string": 5}, {"max_stretch_mm": 0.0}, {"added_above": -1}],
)
def test_requests_that_mean_nothing(wrong: dict[str, int]) -> None:
    """A request that exists can be searched for."""
    with pytest.raises(ValueError, match=r"must|lie"):
        PositionRequest(style=PositionStyle.BOX, **wrong)  # type: ignore[arg-type]

"""What the hand does: strings, shifts, stretch."""

from __future__ import annotations

import pytest
from melody_strategies import GUITAR

from phrasewright.melody.ease import Fretted, shift_mm, stretch_mm, string_changes
from phrasewright.neck.instrument import StringFret


def _line(*notes: tuple[int, int, int | None]) -> list[Fretted]:
    return [Fretted(StringFret(string, fret), finger) for string, fret, finger in notes]


def test_strings_crossed_are_counted() -> None:
    """From string 5 to 3 to 3 to 4: three strings crossed."""
    assert string_changes(_line((5, 5, 1), (3, 5, 1), (3, 7, 3), (4, 5, 1))) == 3


def test_a_box_needs_no_shift() -> None:
    """Fingers one to a fret and one stretched fret do not move the hand."""
    assert shift_mm(_line((6, 5, 1), (6, 8, 4), (5, 4, 1), (5, 7, 3)), GUITAR) == 0


def test_a_shift_is_measured_in_mm() -> None:
    """Index from fret 3 to fret 7: the distance of these frets; an open string between does not matter."""
    expected = GUITAR.stretch_mm(3, 7)
    assert shift_mm(_line((5, 3, 1), (5, 7, 1)), GUITAR) == pytest.approx(expected)
    assert shift_mm(_line((5, 3, 1), (5, 0, 0), (5, 7, 1)), GUITAR) == pytest.approx(expected)


def test_stretch_is_the_widest_pair_without_a_shift() -> None:
    """Frets 5 to 8 under index and little finger; a shift is no stretch and an open string none."""
    assert stretch_mm(_line((6, 5, 1), (6, 8, 4), (5, 0, 0)), GUITAR) == pytest.approx(GUITAR.stretch_mm(5, 8))
    assert stretch_mm(_line((6, 1, 1), (6, 12, 1)), GUITAR) == 0.0
    assert stretch_mm(_line((6, 1, None), (6, 5, None)), GUITAR) == pytest.approx(GUITAR.stretch_mm(1, 5))

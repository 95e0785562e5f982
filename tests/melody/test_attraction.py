"""Lerdahl's melodic attractions, as published."""

from __future__ import annotations

import pytest

from phrasewright.melody.attraction import attraction, pull
from phrasewright.theory.key import Mode


@pytest.mark.parametrize(
    ("start", "goal", "expected"),
    [
        (11, 0, 2.0),
        (5, 4, 1.5),
        (2, 0, 0.5),
        (2, 4, 0.375),
        (9, 7, 0.375),
        (0, 11, 0.5),
        (1, 2, 2.0),
        (3, 4, 3.0),
    ],
)
def test_attractions_in_major(start: int, goal: int, expected: float) -> None:
    """ti-do 2.0, fa-mi 1.5, re-do .5, re-mi .375, la-sol .375, do-ti .5, ♯1-2 2.0, ♭3-3 3.0 (docs/sources.md 3.4)."""
    assert attraction(start, goal) == pytest.approx(expected)


def test_the_root_rests_and_the_leading_tone_pulls() -> None:
    """The strongest pull on the root is weak, on the seventh strong; the minor third rests in minor."""
    assert pull(0) == pytest.approx(0.5)
    assert pull(11) == pytest.approx(2.0)
    assert pull(3, Mode.MINOR) < pull(3, Mode.MAJOR)


def test_no_note_attracts_itself() -> None:
    """A note an octave away is the same note."""
    with pytest.raises(ValueError, match="itself"):
        attraction(4, 16)

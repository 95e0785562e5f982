"""Enumeration is complete: its counts are the closed forms of docs/sources.md 9."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from melody_strategies import box, open_a_minor, positions, walks

from phrasewright.melody.enumerate import (
    Direction,
    Repeats,
    block_cuts,
    count_walks,
    cut_position,
    motifs_of,
    windows_of,
)
from phrasewright.melody.motif import Contour

SIZES = (2, 3, 4, 5)
TWELVE = box("A", "minor-pentatonic", 5)


def test_the_box_of_twelve_notes() -> None:
    """A pentatonic box has two notes on each of six strings (docs/sources.md 9)."""
    assert len(TWELVE.notes) == 12


@pytest.mark.parametrize(("size", "expected"), list(zip(SIZES, (22, 42, 80, 154), strict=True)))
def test_stepwise_walks_of_twelve_notes(size: int, expected: int) -> None:
    """Stepwise walks without repeats: 2(N-1), 4N-6, 8N-16, 16N-38 (docs/sources.md 9)."""
    assert walks(TWELVE, size, 1) == expected


@pytest.mark.parametrize(("size", "expected"), list(zip(SIZES, (34, 98, 284, 826), strict=True)))
def test_steps_or_repeats_of_twelve_notes(size: int, expected: int) -> None:
    """Steps of one tone or a repeat: the power sum of A + I (docs/sources.md 9)."""
    assert walks(TWELVE, size, 1, Repeats.ALLOWED) == expected


@pytest.mark.parametrize(("size", "expected"), list(zip(SIZES, (42, 154, 568, 2110), strict=True)))
def test_steps_of_one_or_two_tones_of_twelve_notes(size: int, expected: int) -> None:
    """Steps of one or two scale tones (docs/sources.md 9)."""
    assert walks(TWELVE, size, 2) == expected


@pytest.mark.parametrize(("size", "expected"), list(zip(SIZES, (132, 1452, 15972, 175692), strict=True)))
def test_any_tone_without_immediate_repeat(size: int, expected: int) -> None:
    """N (N-1)**(k-1) walks when any tone may follow but the same (docs/sources.md 9)."""
    assert count_walks(12, size, largest_step=None) == expected


@pytest.mark.parametrize(
    ("notes", "expected"),
    [(5, (8, 14, 24, 42)), (7, (12, 22, 40, 74)), (8, (14, 26, 48, 90)), (15, (28, 54, 104, 202))],
)
def test_stepwise_walks_of_other_rows(notes: int, expected: tuple[int, ...]) -> None:
    """The rows for 5, 7, 8 and 15 tones (docs/sources.md 9)."""
    assert tuple(count_walks(notes, size) for size in SIZES) == expected


@given(positions(), st.sampled_from((2, 3, 4)), st.sampled_from((1, 2)), st.sampled_from(Repeats))
def test_listing_and_counting_agree(position, size, step, repeats) -> None:
    """The listed motifs are as many as the matrix power sum says, and all different, in any position."""
    found = list(motifs_of(position, sizes=(size,), largest_step=step, repeats=repeats))
    assert len(found) == len({motif.steps for motif in found})
    assert len(found) == count_walks(len(position.notes), size, largest_step=step, repeats=repeats)


def test_ten_notes_give_eight_threes_and_seven_fours() -> None:
    """Open A minor pentatonic from the fifth string: 8 rising three-note and 7 four-note windows (common practice)."""
    position = open_a_minor()
    assert len(position.notes) == 10
    assert len(windows_of(position, (3,))) == 8
    assert len(windows_of(position, (4,))) == 7


@given(positions())
def test_windows_number_4n_minus_10(position) -> None:
    """Windows of two to five notes: 4N - 10 in either direction (docs/sources.md 9)."""
    for direction in Direction:
        windows = windows_of(position, direction=direction)
        assert len(windows) == 4 * len(position.notes) - 10
        assert {str(window.contour) for window in windows} == {str(direction)}


@pytest.mark.parametrize(
    ("length", "expected"), [(5, 3), (7, 7), (8, 10), (12, 57), (15, 205), (16, 315), (17, 483), (18, 741)]
)
def test_block_cuts(length: int, expected: int) -> None:
    """Ways to cut a run into blocks of two to five (docs/sources.md 9); each fills the run."""
    cuts = list(block_cuts(length))
    assert len(set(cuts)) == len(cuts) == expected
    assert all(sum(cut) == length for cut in cuts)


def test_cutting_a_position_uses_every_note_once() -> None:
    """The blocks of a cut follow each other from bottom to top; a wrong sum is refused."""
    blocks = cut_position(TWELVE, (3, 4, 5))
    assert [step for block in blocks for step in block.steps] == list(range(12))
    with pytest.raises(ValueError, match="do not fill"):
        cut_position(TWELVE, (3, 4))


def test_filters_keep_shape_and_cycle() -> None:
    """A contour filter and a cycle filter keep exactly the motifs that have them."""
    every = list(motifs_of(TWELVE, sizes=(3,)))
    shapes = Counter(motif.contour for motif in every)
    for contour in Contour:
        assert sum(1 for _ in motifs_of(TWELVE, sizes=(3,), contours=(contour,))) == shapes[contour]
    inside = list(motifs_of(TWELVE, sizes=(3,), cycles=(1,)))
    assert inside == [motif for motif in every if motif.cycles == (1,)]
    assert len(inside) == count_walks(5, 3)


@pytest.mark.parametrize("sizes", [(1,), (6,), (2, 9)])
def test_wrong_sizes_are_refused(sizes: tuple[int, ...]) -> None:
    """Motifs have two to five notes."""
    with pytest.raises(ValueError, match="sizes"):
        list(motifs_of(TWELVE, sizes=sizes))


def test_a_step_below_one_is_refused() -> None:
    """The largest step is at least one note."""
    with pytest.raises(ValueError, match="largest step"):
        list(motifs_of(TWELVE, largest_step=0))

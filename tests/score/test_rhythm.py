"""Written values: table of cases readers know, and laws for any stretch of any bar. Rules: common practice."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.score.rhythm import NoteValue, bar_tree, note_pieces, plain_value, rest_pieces
from phrasewright.theory.meter import Meter
from strategies import METERS


@pytest.mark.parametrize(
    ("value", "quarters"),
    [
        (NoteValue(1), Fraction(4)),
        (NoteValue(2, 1), Fraction(3)),
        (NoteValue(4, 2), Fraction(7, 4)),
        (NoteValue(8, 0, 3, 2), Fraction(1, 3)),
        (NoteValue(16, 0, 5, 4), Fraction(1, 5)),
    ],
)
def test_a_value_lasts_its_quarters(value: NoteValue, quarters: Fraction) -> None:
    """Dots add halves, tuplets squeeze."""
    assert value.quarters == quarters


@pytest.mark.parametrize(("base", "dots"), [(3, 0), (256, 0), (0, 0), (4, 3)])
def test_an_impossible_value_is_refused(base: int, dots: int) -> None:
    """Values are powers of two down to 1/128 with at most two dots."""
    with pytest.raises(ValueError, match="not a note value"):
        NoteValue(base, dots)


@pytest.mark.parametrize(
    ("meter", "start", "end", "lengths"),
    [
        ("4/4", "0", "4", "4"),
        ("4/4", "1", "3", "2"),  # the half note in the middle is read at sight
        ("4/4", "0", "3", "3"),
        ("4/4", "1", "4", "3"),
        ("4/4", "3/2", "5/2", "1/2 1/2"),  # an off-beat quarter over the middle of the bar is not
        ("4/4", "1/2", "3/2", "1"),
        ("4/4", "1/2", "5/2", "3/2 1/2"),
        ("4/4", "0", "5/2", "2 1/2"),
        ("4/4", "1/4", "3/4", "1/2"),
        ("3/4", "1/2", "3", "1/2 2"),
        ("3/4", "0", "3/2", "3/2"),
        ("2/4", "1/2", "3/2", "1"),
        ("5/4", "0", "5", "3 2"),
        ("5/4", "2", "4", "1 1"),
        ("6/8", "0", "2", "3/2 1/2"),
        ("6/8", "0", "3", "3"),
        ("12/8", "3/2", "9/2", "3/2 3/2"),
        ("12/8", "0", "1", "1"),
        ("7/8", "0", "7/2", "2 3/2"),
        ("7/8", "1/2", "7/2", "1/2 1 3/2"),
    ],
)
def test_notes_are_cut_where_readers_look(meter: str, start: str, end: str, lengths: str) -> None:
    """Beats stay visible: the bar's middle and its groups are not hidden."""
    pieces = note_pieces(Fraction(start), Fraction(end), bar_tree(Meter.parse(meter)))
    assert [b - a for a, b in pieces] == [Fraction(word) for word in lengths.split()]


@pytest.mark.parametrize(
    ("meter", "start", "end", "lengths"),
    [
        ("4/4", "1", "3", "1 1"),
        ("4/4", "1", "4", "1 2"),
        ("4/4", "2", "4", "2"),
        ("4/4", "1/2", "2", "1/2 1"),
        ("3/4", "1", "3", "1 1"),
        ("6/8", "0", "1", "1"),
        ("6/8", "1/2", "3/2", "1/2 1/2"),
        ("12/8", "3", "6", "3"),
    ],
)
def test_rests_are_cut_more_strictly(meter: str, start: str, end: str, lengths: str) -> None:
    """Rests show every beat."""
    pieces = rest_pieces(Fraction(start), Fraction(end), bar_tree(Meter.parse(meter)))
    assert [b - a for a, b in pieces] == [Fraction(word) for word in lengths.split()]


@given(st.sampled_from(METERS), st.integers(0, 200), st.integers(1, 200), st.sampled_from([note_pieces, rest_pieces]))
def test_pieces_tile_the_stretch_with_plain_values(meter: str, low: int, size: int, cut: object) -> None:
    """Any stretch on the 1/32 grid is tiled by values with at most one dot."""
    bar = Meter.parse(meter).bar
    grid = Fraction(1, 8)
    start = (low * grid) % bar
    end = min(start + size * grid, bar)
    pieces = (note_pieces if cut is note_pieces else rest_pieces)(start, end, bar_tree(Meter.parse(meter)))
    assert pieces[0][0] == start
    assert pieces[-1][1] == end
    assert all(one[1] == other[0] for one, other in pairwise(pieces))
    assert all(plain_value(b - a) is not None for a, b in pieces)


def test_a_length_off_the_grid_is_refused() -> None:
    """A third of a beat has no plain value."""
    with pytest.raises(ValueError, match="cannot be written"):
        note_pieces(Fraction(0), Fraction(1, 3), bar_tree(Meter(4, 4)))


@pytest.mark.parametrize("meter", METERS)
def test_the_tree_covers_the_bar(meter: str) -> None:
    """Its parts follow each other from 0 to the bar line."""
    tree = bar_tree(Meter.parse(meter))
    assert (tree.start, tree.end) == (0, Meter.parse(meter).bar)
    assert tree.inner[0].start == 0
    assert tree.inner[-1].end == tree.end

"""Strokes are written as words that read back as the same strokes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from melody_strategies import METERS

from phrasewright.melody.count_words import count_of
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)


@pytest.mark.parametrize(
    "text",
    [
        "1 2 3",
        "1 & 2",
        "1 - 3",
        "1 - &",
        "1 e & a",
        "1 trip let 2",
        "1 (&) 2",
        "(1) & 2",
        "1 2 | 1 2",
        "1 - - - | (1) & (2) &",
        "1 (a) 3 a",
        "4 a |",
    ],
)
def test_a_count_survives_being_written(text: str) -> None:
    """The words found for a count's strokes read back as its strokes."""
    count = parse_count(text, FOUR)
    written = count_of([(s.onset, s.duration) for s in count.strokes], FOUR, count.bars)
    assert written is not None
    assert [(s.onset, s.duration) for s in written.strokes] == [(s.onset, s.duration) for s in count.strokes]
    assert written.bars == count.bars


@given(st.sampled_from(METERS), st.lists(st.integers(1, 6), min_size=2, max_size=10), st.integers(1, 3), st.data())
def test_any_strokes_on_the_grid(meter: Meter, gaps: list[int], bars: int, data: st.DataObject) -> None:
    """Whatever rhythm on quarters of the unit: the count found has exactly these strokes; None only over a bar line."""
    grid = meter.unit / 4
    strokes, at = [], Fraction(0)
    for gap in gaps:
        length = data.draw(st.integers(1, gap))
        strokes.append((at, length * grid))
        at += gap * grid
    strokes = [(onset, duration) for onset, duration in strokes if onset + duration <= bars * meter.bar]
    count = count_of(strokes, meter, bars) if strokes else None
    if count is None:
        crossing = any(onset // meter.bar != (onset + duration - grid) // meter.bar for onset, duration in strokes)
        assert crossing or not strokes
    else:
        assert [(s.onset, s.duration) for s in count.strokes] == strokes
        assert count.bars == bars


@pytest.mark.parametrize(
    "strokes", [[(Fraction(1, 8), Fraction(1, 8))], [(Fraction(4), Fraction(1))], [(Fraction(0), Fraction(1, 6))]]
)
def test_what_has_no_words_is_none(strokes: list[tuple[Fraction, Fraction]]) -> None:
    """Finer than the words reach, or outside the bars."""
    assert count_of(strokes, FOUR, 1) is None

"""Taps become the count that was meant: spoken, tapped with a hand's unsteadiness, and spoken again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.meter import METERS, Meter
from phrasewright.theory.tapped_count import count_from_taps

FOUR = Meter.parse("4/4")
UNIT_WORDS = ("{n}", "{n} &", "{n} e & a", "{n} trip let", "({n}) &", "({n}) trip", "({n}) let", "{n} a", "")


@st.composite
def counts(draw: st.DrawFn) -> Count:
    """Any count of one or two bars without holds."""
    meter = draw(st.sampled_from(METERS))
    bars = [
        " ".join(filter(None, (draw(st.sampled_from(UNIT_WORDS)).format(n=n) for n in range(1, meter.upper + 1))))
        for _ in range(draw(st.integers(1, 2)))
    ]
    text = " | ".join(bars)
    return parse_count(text if any(mark in text for mark in "&123456789") and _plays(text) else "1", meter)


def _plays(text: str) -> bool:
    return any(not word.startswith("(") and word != "|" for word in text.split())


def tapped(count: Count, slips: list[float]) -> Count:
    """The count tapped: every stroke early or late by a share of a unit, let go where it ends."""
    unit = float(count.meter.unit)
    onsets = [float(s.onset) + slip * unit for s, slip in zip(count.strokes, slips, strict=False)]
    ends = [float(stroke.onset + stroke.duration) - 0.05 * unit for stroke in count.strokes]
    return count_from_taps(onsets, ends, count.meter)


@given(counts(), st.data())
def test_a_count_tapped_is_the_count_spoken(count: Count, data: st.DataObject) -> None:
    """Up to 3 % of a unit early or late: 15 ms at 120."""
    slips = data.draw(st.lists(st.floats(-0.03, 0.03), min_size=len(count.strokes), max_size=len(count.strokes)))
    found = tapped(count, slips)
    assert [stroke.onset for stroke in found.strokes] == [stroke.onset for stroke in count.strokes]
    assert [stroke.word for stroke in found.strokes] == [stroke.word for stroke in count.strokes]


@pytest.mark.parametrize(
    ("onsets", "ends", "text"),
    [
        ([0.0, 1.02, 1.98], [0.4, 1.5, 2.3], "1 2 3"),
        ([0.0, 0.5, 1.0], [0.3, 0.8, 1.4], "1 & 2"),
        ([0.0, 2.0], [1.9, 2.4], "1 - 3"),
        ([0.05, 1.5], [1.45, 1.9], "1 - &"),
        ([0.0, 3.9], [0.5, 4.4], "1 | 1"),
        ([0.0, 0.36, 0.65], [0.3, 0.6, 0.9], "1 trip let"),
        ([0.5, 1.0], [0.9, 1.4], "(1) & 2"),
        ([0.0], [3.9], "1 - - -"),
    ],
)
def test_taps_by_hand(onsets: list[float], ends: list[float], text: str) -> None:
    """Worked out by hand: holds, off-beats, triplets, the bar line."""
    assert count_from_taps(onsets, ends, FOUR).text == text


def test_no_taps_and_too_many_bars_are_refused() -> None:
    with pytest.raises(ValueError, match="needs taps"):
        count_from_taps([], [], FOUR)
    with pytest.raises(ValueError, match="4 bars"):
        count_from_taps([0.0, 17.0], [0.1, 17.1], FOUR)

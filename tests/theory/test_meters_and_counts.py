"""Meters and spoken counts: every stroke lies in its bar, none overlap, and holds and rests do what is said."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.theory.count import Count, CountError, parse_count
from phrasewright.theory.meter import Meter

METERS = [Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8", "9/8", "2/2", "5/8")]
FOUR = Meter(4, 4)


@pytest.mark.parametrize(
    ("text", "bar", "unit", "pulse", "groups"),
    [
        ("2/4", "2", "1", "1", "1 1"),
        ("3/4", "3", "1", "1", "1 1 1"),
        ("4/4", "4", "1", "1", "1 1 1 1"),
        ("5/4", "5", "1", "1", "3 2"),
        ("6/8", "3", "1/2", "3/2", "3/2 3/2"),
        ("7/8", "7/2", "1/2", "1/2", "1 1 3/2"),
        ("9/8", "9/2", "1/2", "3/2", "3/2 3/2 3/2"),
        ("12/8", "6", "1/2", "3/2", "3/2 3/2 3/2 3/2"),
        ("2/2", "4", "2", "2", "2 2"),
        ("3/8", "3/2", "1/2", "1/2", "1/2 1/2 1/2"),
    ],
)
def test_meters(text: str, bar: str, unit: str, pulse: str, groups: str) -> None:
    """Bar, counted unit, tapped beat and groups of each meter in quarter notes (common practice)."""
    meter = Meter.parse(text)
    assert str(meter) == text
    assert (meter.bar, meter.unit, meter.pulse) == (Fraction(bar), Fraction(unit), Fraction(pulse))
    assert meter.groups == tuple(Fraction(word) for word in groups.split())


@given(st.builds(Meter, st.integers(1, 32), st.sampled_from([2, 4, 8, 16])))
def test_groups_fill_the_bar(meter: Meter) -> None:
    """The groups of any meter sum to its bar, start at 0, and the text reads back."""
    assert sum(meter.groups) == meter.bar
    assert meter.group_starts[0] == 0
    assert [b - a for a, b in pairwise((*meter.group_starts, meter.bar))] == list(meter.groups)
    assert Meter.parse(str(meter)) == meter


@pytest.mark.parametrize("text", ["", "4", "4/", "/4", "4/3", "0/4", "-4/4", "four/4", "4/4/4", "²/4"])
def test_no_meters(text: str) -> None:
    """What is no time signature is refused."""
    with pytest.raises(ValueError, match="not a meter"):
        Meter.parse(text)


def strokes(count: Count) -> str:
    return " ".join(f"{stroke.onset}+{stroke.duration}" for stroke in count.strokes)


@pytest.mark.parametrize(
    ("text", "meter", "expected"),
    [
        ("1 2 3", "4/4", "0+1 1+1 2+1"),
        ("1 - 3", "4/4", "0+2 2+1"),
        ("1 - - -", "4/4", "0+4"),
        ("1 & 2", "4/4", "0+1/2 1/2+1/2 1+1"),
        ("1 & - 3", "4/4", "0+1/2 1/2+3/2 2+1"),
        ("1 e & a", "4/4", "0+1/4 1/4+1/4 1/2+1/4 3/4+1/4"),
        ("1 a 2", "4/4", "0+3/4 3/4+1/4 1+1"),
        ("1 trip let 2", "4/4", "0+1/3 1/3+1/3 2/3+1/3 1+1"),
        ("1 - &", "4/4", "0+3/2 3/2+1/2"),
        ("2 &", "3/4", "1+1/2 3/2+1/2"),
        ("&", "4/4", "1/2+1/2"),
        ("(1) & 2", "4/4", "1/2+1/2 1+1"),
        ("1 (&) 2", "4/4", "0+1/2 1+1"),
        ("1 - (3) 4", "4/4", "0+2 3+1"),
        ("4 & | 1 -", "4/4", "3+1/2 7/2+1/2 4+2"),
        ("1 - 3 4 - 6", "6/8", "0+1 1+1/2 3/2+1 5/2+1/2"),
        ("1 4 7 10", "12/8", "0+1/2 3/2+1/2 3+1/2 9/2+1/2"),
        ("1 3 5 -", "7/8", "0+1/2 1+1/2 2+1"),
        ("1 - - 4 -", "5/4", "0+3 3+2"),
        ("1 E & A", "2/4", "0+1/4 1/4+1/4 1/2+1/4 3/4+1/4"),
    ],
)
def test_counts(text: str, meter: str, expected: str) -> None:
    """A spoken count gives these onsets and lengths in quarter notes (common practice)."""
    assert strokes(parse_count(text, Meter.parse(meter))) == expected


def test_space_is_what_is_not_sounding() -> None:
    """`1 2 3` in 4/4 leaves a quarter of the bar silent and stops on the fourth beat."""
    count = parse_count("1 2 3", FOUR)
    assert (count.bars, count.length, count.sounding, count.space, count.end) == (1, 4, 3, Fraction(1, 4), 3)


@pytest.mark.parametrize(
    ("text", "column", "message"),
    [
        ("1 2 x", 4, "not a count word"),
        ("1 5", 2, "there is no 5"),
        ("0", 0, "there is no 0"),
        ("2 1", 2, "comes before"),
        ("1 & e", 4, "comes before"),
        ("1 1", 2, "comes before"),
        ("- 2", 0, "no note to hold"),
        ("(1) - 3", 4, "no note to hold"),
        ("4 -", 2, "bar line"),
        ("4 | - 2", 4, "bar line"),
        ("(1)", 0, "at least one"),
        ("", 0, "at least one"),
        ("| |", 0, "at least one"),
        ("1 (2", 2, "not a count word"),
    ],
)
def test_count_errors(text: str, column: int, message: str) -> None:
    """What cannot be spoken so is refused with its column."""
    with pytest.raises(CountError, match=message) as caught:
        parse_count(text, FOUR)
    assert caught.value.column == column


@st.composite
def spoken(draw: st.DrawFn) -> tuple[str, Meter]:
    """A count that can be spoken: in one to three bars, words that rise, some silent, some held."""
    meter = draw(st.sampled_from(METERS))
    bars = []
    for _ in range(draw(st.integers(1, 3))):
        words = [draw(st.sampled_from(["1", "1 &", "1 e & a", "1 trip let", "1 (&) a"]))]
        for unit in range(2, meter.upper + 1):
            choices = ["", str(unit), f"({unit})", f"{unit} &", f"({unit}) & a", f"{unit} trip let"]
            words.append(draw(st.sampled_from(choices if words[-1].endswith(")") else [*choices, "-"])) or words.pop())
        bars.append(" ".join(words))
    return " | ".join(bars), meter


@given(spoken())
def test_strokes_lie_in_their_bars_and_never_overlap(case: tuple[str, Meter]) -> None:
    """Strokes rise, never overlap, never cross a bar line, and sound and silence fill the whole bars."""
    count = parse_count(*case)
    bar = count.meter.bar
    assert count.bars == case[0].count("|") + 1
    for stroke in count.strokes:
        start = stroke.onset // bar * bar
        assert start <= stroke.onset < stroke.onset + stroke.duration <= start + bar
    for first, second in pairwise(count.strokes):
        assert first.onset + first.duration <= second.onset
    assert 0 <= count.space < 1
    assert count.sounding + count.space * count.length == count.length == count.bars * bar


@given(spoken())
def test_text_survives_normalisation(case: tuple[str, Meter]) -> None:
    """The kept text is read as the same rhythm, whatever the spaces were."""
    text, meter = case
    count = parse_count("  " + text.replace(" ", "   "), meter)
    assert parse_count(count.text, meter) == count == parse_count(text, meter)


@given(st.text(alphabet="1234567890&eatriplt-|() ", max_size=20), st.sampled_from(METERS))
def test_any_text_is_read_or_refused(text: str, meter: Meter) -> None:
    """No text breaks the reader: a count inside whole bars, or a CountError inside the text."""
    column = 0
    try:
        count = parse_count(text, meter)
        assert count.end <= count.length
    except CountError as error:
        column = error.column
    assert 0 <= column <= len(text)

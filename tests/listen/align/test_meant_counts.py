"""Which count a note was meant for, and how places in bars are said."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from takes import bars, straight, swinging

from phrasewright.listen.align.bars import spot_of, units_between
from phrasewright.listen.align.counts import counted
from phrasewright.listen.align.trend import robust_fit, spread_around
from phrasewright.listen.placed import TakeClock

CASES = {
    "eighths": ((0, Fraction(1, 2), 1, Fraction(3, 2)), "4/4", 1.0),
    "a triplet": ((0, Fraction(1, 3), Fraction(2, 3), 1), "4/4", 1.0),
    "sixteenths": ((0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4), 1), "4/4", 1.0),
    "swung eighths stay eighths": ((0, Fraction(1, 2), 1, Fraction(3, 2), 2), "4/4", 2.0),
    "eighths of 12/8": ((0, Fraction(1, 2), 1, Fraction(3, 2), 2, Fraction(5, 2)), "12/8", 1.0),
    "three in a bar": ((0, 1, 2, 3, Fraction(7, 2)), "3/4", 1.0),
    "two struck together": ((0, 1, 1, 2), "4/4", 1.0),
}


@pytest.mark.parametrize("name", CASES)
def test_counts_are_those_meant(name: str) -> None:
    """Notes up to 15 ms off their places keep their counts."""
    counts, meter, ratio = CASES[name]
    clock = TakeClock(performance=swinging(90.0, ratio), offset_s=1.0)
    off_s = np.resize([0.0, 0.012, -0.015, 0.008], len(counts))
    onsets_s = np.sort(np.array([clock.seconds_at(Fraction(count)) for count in counts]) + off_s)
    assert counted(onsets_s, clock, bars(4, meter), spread_s=0.015) == tuple(map(Fraction, counts))


def test_a_pushed_note_belongs_to_the_beat_it_leads_to() -> None:
    """A note 40 ms before a beat at 60 is early, not a finer count."""
    clock = TakeClock(performance=straight(60.0), offset_s=0.5)
    onsets_s = np.array([clock.seconds_at(Fraction(1)), clock.seconds_at(Fraction(2)) - 0.04])
    assert counted(onsets_s, clock, bars(2), spread_s=0.02) == (Fraction(1), Fraction(2))


def test_places_are_said_as_players_say_them() -> None:
    """Bar, beat, count; bars before the first and after the last go on."""
    measures = bars(2)
    said = {time: spot_of(Fraction(time), measures) for time in ("0", "3/2", "13/3", "31/4", "-1/2", "9")}
    assert [(spot.bar, round(spot.beat, 3), spot.word) for spot in said.values()] == [
        (1, 1.0, "1"),
        (1, 2.5, "&"),
        (2, 1.333, "trip"),
        (2, 4.75, "a"),
        (0, 4.5, "&"),
        (3, 2.0, "2"),
    ]
    assert [unit.start for unit in units_between(Fraction(-1), Fraction(1), measures)] == [-1, 0, 1]


@given(st.lists(st.floats(-0.05, 0.05), min_size=12, max_size=60), st.floats(-0.2, 0.2), st.floats(-0.02, 0.02))
def test_a_line_is_found_among_noise(noise: list[float], offset: float, slope: float) -> None:
    """A robust line moves with what is added to it, exactly (equivariance: Rousseeuw and Leroy, 1987, from memory)."""
    at = np.arange(len(noise), dtype=np.float64)
    columns = np.column_stack([np.ones_like(at), at])
    plain = robust_fit(columns, np.array(noise))
    moved = robust_fit(columns, np.array(noise) + offset + slope * at)
    assert moved.values - plain.values == pytest.approx(np.array([offset, slope]), abs=1e-6)


def test_wild_notes_do_not_count() -> None:
    """One note in ten a quarter of a second off: the spread is still that of the others."""
    rng = np.random.default_rng(1)
    residuals = rng.normal(0.0, 0.01, 200)
    residuals[::10] += 0.25
    assert spread_around(residuals) == pytest.approx(0.01, rel=0.1)

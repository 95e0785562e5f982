"""Pace: tempo changes inside a piece."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.score.model import ChordSpan, Measure
from phrasewright.score.pace import AS_WRITTEN, SLOWED, Pace, pace_of
from phrasewright.score.performance import Performance, SwingCurve
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)


def bars(*paces: tuple[str, bool], meter: Meter = FOUR) -> tuple[Measure, ...]:
    """Bars with their pace and whether they slow down."""
    return tuple(
        Measure(
            number=index + 1,
            onset=index * meter.bar,
            meter=meter,
            chords=(ChordSpan(onset=index * meter.bar, duration=meter.bar, chord=None),),
            pace=Fraction(pace),
            slows=slows,
        )
        for index, (pace, slows) in enumerate(paces)
    )


def test_a_bar_at_half_the_pace_lasts_twice_as_long() -> None:
    """Two bars at tempo, one at half of it, one at tempo again: 120 bpm bars of 4/4 last two seconds."""
    performance = Performance(tempo_bpm=120.0).over(bars(("1", False), ("1", False), ("1/2", False), ("1", False)))
    assert [performance.seconds_at(Fraction(4 * n)) for n in range(5)] == pytest.approx([0, 2, 4, 8, 10])
    assert performance.seconds_at(Fraction(10)) == pytest.approx(6.0)


def test_without_changes_there_is_no_pace() -> None:
    """Even bars are played as written."""
    assert pace_of(bars(("1", False), ("1", False))) is AS_WRITTEN


def test_a_slowing_bar_ends_at_two_thirds_of_its_pace() -> None:
    """Each quarter of a slowing bar is longer than the one before, the last nearly half as long again."""
    performance = Performance(tempo_bpm=60.0).over(bars(("1", False), ("1", True)))
    times = [performance.seconds_at(Fraction(4 + n)) for n in range(5)]
    lengths = [after - before for before, after in pairwise(times)]
    assert lengths == sorted(lengths)
    assert lengths[0] > 1.0
    assert lengths[-1] == pytest.approx(1 / (1 - float(1 - SLOWED) * 7 / 8))


def test_swing_is_a_share_of_the_beat_at_any_pace() -> None:
    """The off-beat of a slower bar is delayed by the same share of its beat."""
    curve = SwingCurve(((100.0, 2.0),))
    performance = Performance(tempo_bpm=100.0, swing=curve).over(bars(("1", False), ("1/2", False)))
    beat, off, following = (performance.seconds_at(Fraction(time)) for time in ("5", "11/2", "6"))
    assert (off - beat) / (following - off) == pytest.approx(2.0)


@given(
    st.lists(
        st.tuples(st.sampled_from(["1/2", "3/4", "1", "5/4", "2"]), st.booleans()),
        min_size=1,
        max_size=6,
    )
)
def test_time_always_goes_on(paces: list[tuple[str, bool]]) -> None:
    """Played time rises with written time, and a bar lasts as long as its pace says."""
    measures = bars(*paces)
    pace = pace_of(measures)
    times = [pace.played(n / 4) for n in range(16 * len(paces) + 1)]
    assert all(after > before for before, after in pairwise(times))
    for measure in measures:
        if not measure.slows:
            length = pace.played(float(measure.end)) - pace.played(float(measure.onset))
            assert length == pytest.approx(float(measure.meter.bar / measure.pace))


@pytest.mark.parametrize("moments", [((Fraction(0), 0.0),), ((Fraction(1), 0.0), (Fraction(0), 1.0))])
def test_a_pace_that_stands_still_is_refused(moments: tuple[tuple[Fraction, float], ...]) -> None:
    """One moment gives no speed, and time does not run back."""
    with pytest.raises(ValueError, match="rise"):
        Pace(moments)

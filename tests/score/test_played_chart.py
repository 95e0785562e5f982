"""A chart as a recording plays it: its bars, its places, its paces."""

from __future__ import annotations

from fractions import Fraction

import pytest

from phrasewright.lesson.chart_text import read_chart
from phrasewright.score.chart import Chart
from phrasewright.score.played_chart import PlayedChart
from phrasewright.theory.meter import Meter

TUNE = "(B7)\n| Em7 | 2/4 Am7 | 4/4 @80% D7 @coda | @100% G |\n[Coda]\n| C | @rit Em7 |"


FOUR = Meter(4, 4)


def chart(text: str = TUNE, meter: Meter = FOUR) -> Chart:
    return read_chart(text, meter)


@pytest.mark.parametrize("choruses", [1, 2, 5])
def test_bars_before_the_coda_are_those_of_the_choruses(choruses: int) -> None:
    """Each bar is the bar of the written chart whose chords it has; the coda comes last."""
    played = PlayedChart(chart=chart(), choruses=choruses)
    written = (played.chart.pickup, *played.chart.bars, *played.chart.coda)
    for measure in played.once:
        place = played.chart_bar(measure.number)
        assert place is not None
        bar = written[place]
        assert bar is not None
        assert [chord.chord for chord in measure.chords] == [chord for chord, _ in bar.chords]
    coda = played.once[-2]
    assert played.choruses_end == coda.onset - played.pickup


def test_a_chorus_that_goes_round_has_neither_pickup_nor_coda() -> None:
    played = PlayedChart(chart=chart())
    assert (played.pickup, played.choruses_end) == (0, None)
    assert [played.chart_bar(number) for number in (0, 1, 4, 5, 8)] == [None, 1, 4, 1, 4]
    assert [measure.number for measure in played.measures(6)] == [1, 2, 3, 4, 5, 6]


def test_a_beat_lasts_as_its_mark_says() -> None:
    """Beats of the bar at 80 % are a quarter longer than the others; before the chart and after it all are alike."""
    once = PlayedChart(chart=chart(), choruses=1)
    assert once.paces(range(-3, 11)) == pytest.approx([1.0] * 9 + [1.25] * 4 + [1.0])
    slow = once.paces(range(14, 18))
    assert list(slow) == sorted(slow)
    assert slow[0] > 1.0
    assert once.paces([18, 40]) == (1.0, 1.0)
    assert PlayedChart(chart=chart()).paces([6, 20, 34]) == pytest.approx([1.25] * 3)


@pytest.mark.parametrize(
    ("text", "meter", "other"),
    [
        ("| Em7 | 2/4 A7 | 5/4 D7 |", Meter(4, 4), None),
        ("| Em7 | 6/8 A7 |", Meter(12, 8), None),
        ("| Em7 | 7/8 A7 |", Meter(4, 4), Meter(7, 8)),
        ("| Em7 | 6/8 A7 |", Meter(4, 4), Meter(6, 8)),
        ("(B7)\n| Em7 |", Meter(6, 8), Meter(1, 8)),
        ("(B7 . .)\n| Em7 |", Meter(6, 8), None),
    ],
)
def test_one_beat_must_go_through(text: str, meter: Meter, other: Meter | None) -> None:
    played = PlayedChart(chart=chart(text, meter), choruses=2)
    assert played.other_beat == other
    assert bool(played.why_not_tapped) == (other is not None)
    assert played.pulse == meter.pulse > Fraction(1, 2)

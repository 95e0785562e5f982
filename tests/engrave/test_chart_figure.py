"""The chart as a printed grid: every bar once, chords where they sound, nothing wider than it lasts."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from figure_cases import charts, chord
from figure_checks import SVG, all_with, check_apart, check_figure
from hypothesis import given

from phrasewright.engrave.chart_figure import bars_that_read, cells, chart_figure, chord_names
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)
AM7 = chord("A", "minor-seventh")
LONG = chord("F#", "half-diminished", bass="C")


def bar(*chords: object, section: str = "") -> ChartBar:
    return ChartBar(chords=tuple((c, FOUR.bar / len(chords)) for c in chords), section=section)  # type: ignore[misc]


@given(charts())
def test_every_bar_is_drawn_once_in_order(chart: Chart) -> None:
    root = check_figure(chart_figure(chart, id_prefix="c"), "c")
    assert [g.get("data-bar") for g in all_with(root, "data-bar")] == [str(n + 1) for n in range(len(chart.bars))]


@given(charts())
def test_chord_names_stand_in_their_share_of_the_bar_and_never_touch(chart: Chart) -> None:
    placed = cells(chart)
    names = [name.box for cell in placed for name in chord_names(cell)]
    check_apart(names)
    for cell in placed:
        x = cell.box.x0
        for name, (_, length) in zip(chord_names(cell), cell.bar.chords, strict=True):
            end = x + float(length / chart.meter.bar) * cell.box.width
            assert x < name.box.x0
            assert name.box.x1 < end + 1e-6
            assert name.box.y0 > cell.box.y0
            assert name.box.y1 < cell.box.y1
            x = end


@given(charts())
def test_bars_tile_their_lines_and_lines_keep_apart(chart: Chart) -> None:
    placed = cells(chart, bars_per_line=3, width_mm=150.0)
    check_apart([cell.box for cell in placed])
    for before, after in pairwise(placed):
        assert after.heads_line or after.box.x0 == pytest.approx(before.box.x1)
    assert all(cell.heads_line for cell in placed if cell.bar.section)


def test_four_bars_stand_on_a_line_and_a_section_begins_a_new_one() -> None:
    chart = Chart(meter=FOUR, bars=(*[bar(AM7)] * 5, bar(AM7, section="Bridge")))
    assert [cell.heads_line for cell in cells(chart)] == [True, False, False, False, True, True]


def test_the_description_reads_the_bars_and_joins_equal_ones() -> None:
    chart = Chart(meter=FOUR, bars=(bar(AM7, section="Verse"), bar(AM7), bar(AM7), bar(LONG, None)))
    desc = check_figure(chart_figure(chart, id_prefix="c"), "c").findtext(f"{SVG}desc", "")
    assert desc == (
        "Four bars, four beats in a bar, counted in quarter notes. Verse: Bars 1 to 3, over A minor seven. "
        "Bar 4, over F sharp minor seven flat five over C, from three no chord."
    )


def test_a_bar_may_not_be_narrower_than_it_can_be_read() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        cells(Chart(meter=FOUR, bars=(bar(AM7),)), bars_per_line=8, width_mm=90.0)
    with pytest.raises(ValueError, match="needs a bar"):
        cells(Chart(meter=FOUR, bars=(bar(AM7),)), bars_per_line=0)


def test_a_split_bar_gives_each_chord_the_room_it_lasts() -> None:
    three_one = ChartBar(chords=((AM7, Fraction(3)), (LONG, Fraction(1))))
    (cell,) = cells(Chart(meter=FOUR, bars=(three_one,)))
    first, second = chord_names(cell)
    assert second.box.x0 - first.box.x0 == pytest.approx(0.75 * cell.box.width)


def test_crowded_bars_get_more_room() -> None:
    """Four short names in a bar still read with four bars on a line; long ones ask for two."""
    short = Chart(meter=Meter(4, 4), bars=(ChartBar(chords=((chord("A", "major"), Fraction(1)),) * 4),))
    assert bars_that_read(short, width_mm=152.0) == 4
    long = chord("F#", "half-diminished")
    crowded = Chart(meter=Meter(4, 4), bars=(ChartBar(chords=((long, Fraction(1)),) * 4),))
    assert bars_that_read(crowded, width_mm=152.0) == 2

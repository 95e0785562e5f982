"""A chart as a printed grid of bars: chord names large in serif, standing where they sound.

Every bar shows its chord by name, also when nothing changes: a reader who looks up finds the chord at once. Under each
line runs a ruler of beats; a chord's hairline shows how long it holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from phrasewright.engrave.lettering import (
    Anchor,
    Face,
    Lettered,
    Style,
    chord_runs,
    letter,
    letter_chord_stacked,
    runs_width_mm,
    width_mm,
)
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Box, Pen, figure, group, line, rectangle
from phrasewright.engrave.words import spoken_chart
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.meter import Meter

BARS_A_LINE = 4
SHEET_MM = 180.0
LEAST_SHARE = 0.6  # of its full size, at which a chord name is still read across a room
ROW_MM, SECTION_MM = 15.5, 7.0
CHORD_MM = 7.0
_EDGE_MM, _METER_MM = 1.0, 8.0
_NUMBER = Style(ink=Ink.HELP)
_SECTION = Style(face=Face.SERIF_BOLD, size_mm=4.6)
_METER = Style(face=Face.SERIF_BOLD, size_mm=5.6)
_BAR = Pen(width_mm=0.35)
_THICK = Pen(width_mm=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One bar on paper. number: from 1; box: between its bar lines, ruler at the bottom edge."""

    number: int
    bar: ChartBar
    box: Box
    heads_line: bool


def bars_that_read(chart: Chart, *, width_mm: float = SHEET_MM) -> int:
    """Bars on each line, ``BARS_A_LINE`` or half of it, so that every chord name keeps a size that can be read."""
    bar_mm = (width_mm - 2 * _EDGE_MM - _METER_MM - 0.8) / BARS_A_LINE
    rooms = [
        (chord, float(length / chart.meter.bar) * bar_mm - 2.6)
        for bar in chart.bars
        for chord, length in bar.chords
        if chord is not None
    ]
    reads = all(runs_width_mm(chord_runs(chord, CHORD_MM)) * LEAST_SHARE <= room for chord, room in rooms)
    return BARS_A_LINE if reads else BARS_A_LINE // 2


def cells(chart: Chart, *, bars_per_line: int = BARS_A_LINE, width_mm: float = SHEET_MM) -> tuple[Cell, ...]:
    """Lay the bars out; a section begins a new line. Raises ValueError when a bar would be narrower than 18 mm."""
    if bars_per_line < 1:
        raise ValueError(f"a line needs a bar, got {bars_per_line}")
    left = _EDGE_MM + _METER_MM
    bar_mm = (width_mm - left - _EDGE_MM - 0.8) / bars_per_line
    if bar_mm < 18.0:
        raise ValueError(f"{bars_per_line} bars do not fit {width_mm} mm")
    placed: list[Cell] = []
    y, column = 0.0, bars_per_line
    for number, bar in enumerate(chart.bars, start=1):
        new_line = column >= bars_per_line or bool(bar.section)
        if new_line:
            y += (ROW_MM if placed else 0.0) + (SECTION_MM if bar.section else 2.0)
            column = 0
        x = left + column * bar_mm
        box = Box(x, y, x + bar_mm, y + ROW_MM - 1.0)
        placed.append(Cell(number=number, bar=bar, box=box, heads_line=new_line))
        column += 1
    return tuple(placed)


def chart_figure(chart: Chart, *, bars_per_line: int = BARS_A_LINE, width_mm: float = SHEET_MM, id_prefix: str) -> str:
    """A chart as an SVG figure; bars are ``g.bar`` with ``data-bar`` (from 1) and an unseen ``.ground``."""
    placed = cells(chart, bars_per_line=bars_per_line, width_mm=width_mm)
    body = [_bar(cell, chart.meter, last=cell is placed[-1]) for cell in placed]
    body.append(_meter(placed[0], chart.meter))
    number = len(chart.bars)
    return figure(
        body,
        kind="chart",
        width_mm=width_mm,
        height_mm=placed[-1].box.y1 + 1.5,
        title=f"Chart: {number} {'bar' if number == 1 else 'bars'} in {chart.meter}",
        desc=spoken_chart(chart),
        id_prefix=id_prefix,
    )


def chord_names(cell: Cell, meter: Meter) -> list[Lettered]:
    """The chords of a bar, each where it begins, none wider than it lasts."""
    per_quarter = cell.box.width / float(meter.bar)
    names, x = [], cell.box.x0
    for chord, length in cell.bar.chords:
        room = float(length) * per_quarter - 2.6
        names.append(letter_chord_stacked(x + 1.8, cell.box.y0 + 9.6, chord, CHORD_MM, room))
        x += float(length) * per_quarter
    return names


def _bar(cell: Cell, meter: Meter, *, last: bool) -> str:
    box = cell.box
    marks = [rectangle(box, class_="ground"), *(name.svg for name in chord_names(cell, meter)), *_ruler(cell, meter)]
    if cell.heads_line:
        marks.append(line(box.x0, box.y0 + 1.5, box.x0, box.y1, _BAR))
        if cell.number > 1:
            marks.append(letter(box.x0 - 1.4, box.y1 - 0.1, str(cell.number), _NUMBER, Anchor.END).svg)
    marks.append(line(box.x1, box.y0 + 1.5, box.x1, box.y1, _BAR))
    if last:
        marks.append(line(box.x1 + 1.1, box.y0 + 1.5, box.x1 + 1.1, box.y1, _THICK))
    if cell.bar.section:
        marks.append(_section(cell))
    return group("bar", *marks, data_bar=cell.number)


def _ruler(cell: Cell, meter: Meter) -> Iterator[str]:
    """The beats of the bar along its foot; a chord's start reaches higher."""
    box = cell.box
    yield line(box.x0, box.y1, box.x1, box.y1, Pen(ink=Ink.RULE, width_mm=0.3))
    per_quarter = box.width / float(meter.bar)
    for index in range(1, meter.upper):
        x = box.x0 + float(index * meter.unit) * per_quarter
        yield line(x, box.y1 - 1.1, x, box.y1, Pen(ink=Ink.RULE, width_mm=0.3))
    x = box.x0
    for _, length in cell.bar.chords[:-1]:
        x += float(length) * per_quarter
        yield line(x, box.y1 - 3.6, x, box.y1, Pen(ink=Ink.HELP, width_mm=0.3))


def _section(cell: Cell) -> str:
    words = cell.bar.section
    room = width_mm(words, _SECTION)
    drawn = letter(cell.box.x0, cell.box.y0 - 0.6, words, _SECTION, Anchor.START).svg
    return drawn + line(cell.box.x0, cell.box.y0 + 0.6, cell.box.x0 + room, cell.box.y0 + 0.6, Pen(width_mm=0.25))


def _meter(first: Cell, meter: Meter) -> str:
    x, y = _EDGE_MM + (_METER_MM - 1.6) / 2, first.box.y0
    upper, lower = letter(x, y + 7.2, str(meter.upper), _METER), letter(x, y + 12.9, str(meter.lower), _METER)
    return group("meter", upper.svg, lower.svg)

"""A chart as a printed grid of bars: chord names large in serif, standing where they sound.

Every bar shows its chord by name, also when nothing changes: a reader who looks up finds the chord at once. Under each
line runs a ruler of beats; a chord's hairline shows how long it holds. A pick-up and a coda stand on lines of their
own; changes of tempo stand over their bar, a new meter in it, and a wedge under a chord is a stop.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.directions import SLOWER, tempo_words
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
from phrasewright.engrave.svg import Box, Pen, figure, group, line, polygon, rectangle
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.meter import Meter

BARS_A_LINE = 4
SHEET_MM = 180.0
LEAST_SHARE = 0.6  # of its full size, at which a chord name is still read across a room
ROW_MM, SECTION_MM, SAID_MM = 15.5, 7.0, 5.0
CHORD_MM = 7.0
NEW_METER_MM = 6.0  # of its bar, where the meter changes
PICKUP = "Pick-up"
TO_CODA = "to the coda"
_EDGE_MM, _METER_MM = 1.0, 8.0
_NUMBER = Style(ink=Ink.HELP)
_SECTION = Style(face=Face.SERIF_BOLD, size_mm=4.6)
_METER = Style(face=Face.SERIF_BOLD, size_mm=5.6)
_SAID = Style(ink=Ink.HELP, size_mm=3.2)
_BAR = Pen(width_mm=0.35)
_THICK = Pen(width_mm=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One bar on paper. number: from 1, 0 for a pick-up; box: between its bar lines, ruler at the bottom edge.

    meter: the bar's; changes: the meter is another one than before; label: what stands over it, of section and so on;
    said: changes of tempo and the like.
    """

    number: int
    bar: ChartBar
    box: Box
    heads_line: bool
    meter: Meter
    changes: bool = False
    label: str = ""
    said: str = ""

    @property
    def chords_from(self) -> float:
        """Where its time begins, in mm."""
        return self.box.x0 + (NEW_METER_MM if self.changes else 0.0)

    @property
    def quarter_mm(self) -> float:
        """How wide a quarter note is."""
        return (self.box.x1 - self.chords_from) / float(self.meter.bar)


def bars_that_read(chart: Chart, *, width_mm: float = SHEET_MM) -> int:
    """Bars on each line, ``BARS_A_LINE`` or half of it, so that every chord name keeps a size that can be read."""
    bar_mm = (width_mm - 2 * _EDGE_MM - _METER_MM - 0.8) / BARS_A_LINE
    rooms = [
        (chord, float(length / chart.meter_of(bar).bar) * (bar_mm - NEW_METER_MM * (bar.meter is not None)) - 2.6)
        for bar in (*chart.bars, *chart.coda)
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
    y = 0.0
    for row in _rows(chart, bars_per_line):
        y += (ROW_MM if placed else 0.0) + _over(chart, row)
        for column, (number, bar) in enumerate(row):
            x = left + column * bar_mm
            meter = chart.meter_of(bar)
            before = placed[-1] if placed else None
            placed.append(
                Cell(
                    number=number,
                    bar=bar,
                    box=Box(x, y, x + bar_mm, y + ROW_MM - 1.0),
                    heads_line=column == 0,
                    meter=meter,
                    changes=number > 0 and meter != (before.meter if before and before.number else chart.meter),
                    label=bar.section if number else PICKUP,
                    said=_said(bar, before.bar if before else None),
                )
            )
    return tuple(placed)


_Numbered = tuple[int, ChartBar]


def _rows(chart: Chart, bars_per_line: int) -> Iterator[list[_Numbered]]:
    """The bars of each line with their numbers."""
    if chart.pickup is not None:
        yield [(0, chart.pickup)]
    row: list[_Numbered] = []
    for number, bar in enumerate((*chart.bars, *chart.coda), start=1):
        if row and (len(row) >= bars_per_line or bar.section):
            yield row
            row = []
        row.append((number, bar))
    yield row


def _over(chart: Chart, row: list[_Numbered]) -> float:
    """Room over a line, in mm: for a section, for words, or little."""
    number, first = row[0]
    if first.section or not number:
        return SECTION_MM
    bars = [bar for _, bar in row]
    around = [None if number == 1 else (*chart.bars, *chart.coda)[number - 2], *bars]
    return SAID_MM if any(_said(bar, before) for before, bar in zip(around, bars, strict=False)) else 2.0


def _said(bar: ChartBar, before: ChartBar | None) -> str:
    """The words over a bar: its tempo where it changes, slowing down, the way to the coda."""
    words = []
    if bar.pace != (before.pace if before else 1):
        words.append(tempo_words(bar.pace))
    if bar.slows:
        words.append(SLOWER)
    if bar.to_coda:
        words.append(TO_CODA)
    return ", ".join(words)


def chart_figure(chart: Chart, *, bars_per_line: int = BARS_A_LINE, width_mm: float = SHEET_MM, id_prefix: str) -> str:
    """A chart as an SVG figure; bars are ``g.bar`` with ``data-bar`` (from 1) and an unseen ``.ground``."""
    placed = cells(chart, bars_per_line=bars_per_line, width_mm=width_mm)
    body = [_bar(cell, last=cell is placed[-1]) for cell in placed]
    body.append(_meter(_EDGE_MM, placed[1 if chart.pickup else 0], chart.meter))
    number = len(chart.bars) + len(chart.coda)
    return figure(
        body,
        kind="chart",
        width_mm=width_mm,
        height_mm=placed[-1].box.y1 + 1.5,
        title=f"Chart: {number} {'bar' if number == 1 else 'bars'} in {chart.meter}",
        desc=spoken_chart(chart),
        id_prefix=id_prefix,
    )


def chord_names(cell: Cell) -> list[Lettered]:
    """The chords of a bar, each where it begins, none wider than it lasts."""
    per_quarter = cell.quarter_mm
    names, x = [], cell.chords_from
    for chord, length in cell.bar.chords:
        room = float(length) * per_quarter - 2.6
        names.append(letter_chord_stacked(x + 1.8, cell.box.y0 + 9.6, chord, CHORD_MM, room))
        x += float(length) * per_quarter
    return names


def _bar(cell: Cell, *, last: bool) -> str:
    box, names = cell.box, chord_names(cell)
    marks = [rectangle(box, class_="ground"), *(name.svg for name in names), *_ruler(cell)]
    marks += [_stop(cell, names[index]) for index in sorted(cell.bar.stops)]
    if cell.changes:
        marks.append(_meter(box.x0, cell, cell.meter))
    if cell.heads_line:
        marks.append(line(box.x0, box.y0 + 1.5, box.x0, box.y1, _BAR))
        if cell.number > 1:
            marks.append(letter(box.x0 - 1.4, box.y1 - 0.1, str(cell.number), _NUMBER, Anchor.END).svg)
    marks.append(line(box.x1, box.y0 + 1.5, box.x1, box.y1, _BAR))
    if last:
        marks.append(line(box.x1 + 1.1, box.y0 + 1.5, box.x1 + 1.1, box.y1, _THICK))
    if cell.label:
        marks.append(_section(cell))
    if cell.said:
        x = box.x0 + (width_mm(cell.label, _SECTION) + 3.0 if cell.label else 0.0)
        marks.append(letter(x, box.y0 - 0.4, cell.said, _SAID, Anchor.START).svg)
    return group("bar", *marks, data_bar=cell.number)


def _stop(cell: Cell, name: Lettered) -> str:
    """A wedge under a chord's name."""
    x, y = name.box.x0 + 0.4, cell.box.y0 + 11.0
    return polygon(((x, y), (x + 1.8, y), (x + 0.9, y + 2.4)), Ink.INK, "stop")


def _ruler(cell: Cell) -> Iterator[str]:
    """The beats of the bar along its foot; a chord's start reaches higher."""
    box = cell.box
    yield line(box.x0, box.y1, box.x1, box.y1, Pen(ink=Ink.RULE, width_mm=0.3))
    per_quarter = cell.quarter_mm
    for index in range(1, cell.meter.upper):
        x = cell.chords_from + float(index * cell.meter.unit) * per_quarter
        yield line(x, box.y1 - 1.1, x, box.y1, Pen(ink=Ink.RULE, width_mm=0.3))
    x = cell.chords_from
    for _, length in cell.bar.chords[:-1]:
        x += float(length) * per_quarter
        yield line(x, box.y1 - 3.6, x, box.y1, Pen(ink=Ink.HELP, width_mm=0.3))


def _section(cell: Cell) -> str:
    words = cell.label
    room = width_mm(words, _SECTION)
    drawn = letter(cell.box.x0, cell.box.y0 - 0.6, words, _SECTION, Anchor.START).svg
    return drawn + line(cell.box.x0, cell.box.y0 + 0.6, cell.box.x0 + room, cell.box.y0 + 0.6, Pen(width_mm=0.25))


def _meter(left: float, cell: Cell, meter: Meter) -> str:
    x, y = left + (_METER_MM - 1.6) / 2, cell.box.y0
    upper, lower = letter(x, y + 7.2, str(meter.upper), _METER), letter(x, y + 12.9, str(meter.lower), _METER)
    return group("meter", upper.svg, lower.svg)

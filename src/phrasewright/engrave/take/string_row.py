"""Tablature in free time: six lines, each note's fret where it sounded and a stroke as long as it rang.

For takes without a lesson, where no bar is known. Seconds stand at the foot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from phrasewright.engrave.lettering import Anchor, Face, Style, letter, width_mm
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Box, Pen, circle, figure, group, line, rectangle
from phrasewright.engrave.take.played import PlayedMark
from phrasewright.engrave.take.wave_row import TimeLine

TOP_MM, STRING_MM, FOOT_MM = 2.5, 3.4, 6.0
LEFT_MM = 8.0
_STRING, _SECOND = Pen(ink=Ink.RULE, width_mm=0.25), Pen(ink=Ink.HELP, width_mm=0.25)
_FRET = Style(face=Face.SANS_BOLD, size_mm=3.3)
_NAME = Style(size_mm=3.2, ink=Ink.HELP)
_RING = Pen(width_mm=0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class StringRow:
    """One line. strings: names of the open strings, first string first; seconds: written at the foot."""

    time: TimeLine
    marks: tuple[PlayedMark, ...]
    strings: tuple[str, ...]
    seconds: Sequence[int]


def string_row(row: StringRow, *, id_prefix: str, label: str) -> str:
    """The line as an SVG figure."""
    foot = TOP_MM + STRING_MM * (len(row.strings) - 1)
    body = [*_strings(row), *_seconds(row, foot), *_notes(row)]
    return figure(
        body,
        kind="strings",
        width_mm=row.time.width_mm,
        height_mm=foot + FOOT_MM,
        title=label,
        desc="; ".join(mark.words for mark in row.marks) or "No note begins here.",
        id_prefix=id_prefix,
    )


def _y_mm(string: int) -> float:
    return TOP_MM + STRING_MM * (string - 1)


def _strings(row: StringRow) -> Iterator[str]:
    for number, name in enumerate(row.strings, start=1):
        y = _y_mm(number)
        yield line(LEFT_MM, y, row.time.points[-1][1], y, _STRING)
        yield letter(LEFT_MM - 1.6, y + 1.1, name, _NAME, Anchor.END).svg


def _seconds(row: StringRow, foot: float) -> Iterator[str]:
    for second in row.seconds:
        x = row.time.x_mm(second)
        yield line(x, foot + 0.8, x, foot + 2.2, _SECOND)
        minutes, rest = divmod(second, 60)
        yield letter(x, foot + 5.2, f"{minutes}:{rest:02}", _NAME).svg


def _notes(row: StringRow) -> Iterator[str]:
    """Strokes and paper of all notes first, so that no digit is covered by the next one's."""
    end = row.time.points[-1][1]
    shown = [(mark, mark.string) for mark in row.marks if mark.string is not None]
    for mark, string in shown:
        x, y, half = row.time.x_mm(mark.onset_s), _y_mm(string), _half_mm(mark)
        stop = min(row.time.x_mm(mark.offset_s), end)
        if stop > x + half:
            yield line(x + half, y, stop, y, _RING)
        yield rectangle(Box(x - half, y - 1.5, x + half, y + 1.5), fill=Ink.PAPER)
    for mark, string in shown:
        x, y = row.time.x_mm(mark.onset_s), _y_mm(string)
        digit = letter(x, y + 1.15, mark.fret, _FRET).svg
        yield group("note", circle(x, y, 2.3, class_="halo"), digit, data_note=mark.number)


def _half_mm(mark: PlayedMark) -> float:
    return width_mm(mark.fret, _FRET) / 2 + 0.4

"""How early or late each note of a take came, bar by bar.

One sign for each note, at its place in the bar: an arrowhead to the left is early, to the right late, a disc on time. A
thick stroke is the middle of its bar. Inside the pale band nobody hears a difference. Late is above, early below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from phrasewright.engrave.lettering import Anchor, Style, letter
from phrasewright.engrave.palette import Ink, paint
from phrasewright.engrave.svg import Box, Pen, circle, figure, group, line, tag, units
from phrasewright.engrave.take.played import PlayedMark, Timing, arrow

LEFT_MM, PLOT_MM, TOP_MM, FOOT_MM, GAP_MM = 15.0, 30.0, 2.5, 5.5, 3.0
LEAST_MS = 60.0
_WORDS = Style(size_mm=3.2, ink=Ink.HELP)
_BAR, _ZERO = Pen(ink=Ink.RULE, width_mm=0.2), Pen(ink=Ink.HELP, width_mm=0.3)
_MIDDLE = Pen(width_mm=0.8)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedBar:
    """A bar. notes: with how far into the bar each is meant, 0..1; middle_ms: of the bar, None without notes."""

    number: int
    notes: tuple[tuple[PlayedMark, float], ...]
    middle_ms: float | None


def timing_plot(
    bars: Sequence[TimedBar], *, band_ms: float, width_mm: float, bars_per_line: int, id_prefix: str, label: str
) -> str:
    """All bars as one SVG figure, in lines. band_ms: half the band in which nothing is heard."""
    most_ms = _reach_ms(bars)
    rows = [bars[at : at + bars_per_line] for at in range(0, len(bars), bars_per_line)]
    each = min(len(bars), bars_per_line) or 1
    body = [
        mark
        for at, row in enumerate(rows)
        for mark in _row(row, at * _LINE_MM, (width_mm - LEFT_MM - 1.0) / each, most_ms, band_ms)
    ]
    return figure(
        body,
        kind="timing",
        width_mm=width_mm,
        height_mm=max(len(rows), 1) * _LINE_MM - GAP_MM,
        title=label,
        desc=" ".join(_spoken(bars)),
        id_prefix=id_prefix,
    )


_LINE_MM = TOP_MM + PLOT_MM + FOOT_MM + GAP_MM


def _reach_ms(bars: Sequence[TimedBar]) -> float:
    """What the plot reaches to: all notes but the odd one far away, which stands at the edge."""
    sizes = sorted(abs(1000.0 * (mark.deviation_s or 0.0)) for bar in bars for mark, _ in bar.notes)
    wide = next(islice(reversed(sizes), len(sizes) // 30, None), 0.0)
    return max(LEAST_MS, wide * 1.1)


def _spoken(bars: Sequence[TimedBar]) -> Iterator[str]:
    for bar in bars:
        if bar.middle_ms is not None:
            side = "late" if bar.middle_ms > 0 else "early"
            yield f"Bar {bar.number}: {abs(bar.middle_ms):.0f} ms {side}."


def _row(bars: Sequence[TimedBar], top: float, bar_mm: float, most_ms: float, band_ms: float) -> Iterator[str]:
    middle, right = top + TOP_MM + PLOT_MM / 2, LEFT_MM + bar_mm * len(bars)

    def y_mm(late_ms: float) -> float:
        return middle - max(min(late_ms / most_ms, 1.0), -1.0) * (PLOT_MM / 2 - 1.5)

    band = Box(LEFT_MM, y_mm(band_ms), right, y_mm(-band_ms))
    size = {"x": units(band.x0), "y": units(band.y0), "width": units(band.width), "height": units(band.y1 - band.y0)}
    yield tag("rect", **size, fill=paint(Ink.TARGET), fill_opacity="0.12")
    yield line(LEFT_MM, middle, right, middle, _ZERO)
    yield letter(LEFT_MM - 1.5, y_mm(most_ms) + 2.2, "late", _WORDS, Anchor.END).svg
    yield letter(LEFT_MM - 1.5, y_mm(-most_ms) - 0.2, "early", _WORDS, Anchor.END).svg
    scale = round(most_ms * 0.6 / 10.0) * 10.0
    for value in (scale, -scale):
        yield line(LEFT_MM - 0.8, y_mm(value), LEFT_MM, y_mm(value), _ZERO)
    yield letter(LEFT_MM - 1.5, y_mm(scale) + 1.1, f"{scale:.0f} ms", _WORDS, Anchor.END).svg
    every = max(1, round(6.0 / bar_mm))
    for at, bar in enumerate(bars):
        x = LEFT_MM + at * bar_mm
        yield line(x, top + TOP_MM, x, top + TOP_MM + PLOT_MM, _BAR)
        if at % every == 0:
            yield letter(x + bar_mm / 2, top + TOP_MM + PLOT_MM + 4.0, str(bar.number), _WORDS).svg
        if bar.middle_ms is not None:
            y = y_mm(bar.middle_ms)
            yield line(x + bar_mm * 0.06, y, x + bar_mm * 0.94, y, _MIDDLE, "middle")
        for mark, within in bar.notes:
            yield _note(mark, x + bar_mm * (0.08 + 0.84 * within), y_mm(1000.0 * (mark.deviation_s or 0.0)))
    yield line(right, top + TOP_MM, right, top + TOP_MM + PLOT_MM, _BAR)


def _note(mark: PlayedMark, x: float, y: float) -> str:
    halo = circle(x, y, 2.0, class_="halo")
    if mark.timing in (Timing.EARLY, Timing.LATE):
        return group("note", halo, arrow(x, y, mark.timing, -0.75), data_note=mark.number)
    return group("note", halo, circle(x, y, 0.8, fill=Ink.INK), data_note=mark.number)

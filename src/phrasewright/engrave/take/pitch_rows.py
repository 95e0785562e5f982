"""The pitch of a take in time: every note's own curve in ink over what was written in grey.

A fine rule for each note of the scale, with its name, so that a bend that stops short or a note between the frets shows
as distance. Without a scale there is a rule for each C and F. Cents are to scale: a semitone is as high everywhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor

from phrasewright.engrave.lettering import Anchor, Style, letter
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Box, Pen, circle, figure, group, line, path, rectangle
from phrasewright.engrave.take.played import PlayedMark
from phrasewright.engrave.take.wave_row import TimeLine

LEFT_MM, TOP_MM, FOOT_MM = 9.0, 2.0, 5.0
SEMITONE_MM, MOST_MM = 2.6, 62.0
LEAST_SEMITONES = 12
CURVE = Pen(width_mm=0.55)
_BAR, _BEAT, _SCALE = (
    Pen(ink=Ink.HELP, width_mm=0.25),
    Pen(ink=Ink.RULE, width_mm=0.15),
    Pen(ink=Ink.RULE, width_mm=0.2),
)
_NAME = Style(size_mm=3.2, ink=Ink.HELP)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenSpan:
    """A written note in seconds of the take."""

    from_s: float
    to_s: float
    pitch_midi: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PitchRow:
    """One line. ticks: (second, words) at its foot; rules: (midi, name); span_midi: lowest and highest of the take."""

    time: TimeLine
    marks: tuple[PlayedMark, ...]
    rules: tuple[tuple[int, str], ...]
    span_midi: tuple[float, float]
    ticks: tuple[tuple[float, str], ...] = ()
    written: tuple[WrittenSpan, ...] = ()
    step_s: float = 0.01  # of the curves


def pitch_row(row: PitchRow, *, id_prefix: str, label: str) -> str:
    """The line as an SVG figure."""
    scale = _Scale.of(row)
    body = [*_rules(row, scale), *_ticks(row, scale), *_written(row, scale), *_curves(row, scale)]
    return figure(
        body,
        kind="pitch",
        width_mm=row.time.width_mm,
        height_mm=scale.foot_mm + FOOT_MM,
        title=label,
        desc="Pitch in time, one line for each note.",
        id_prefix=id_prefix,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """low, high: whole semitones shown."""

    low: int
    high: int
    semitone_mm: float

    @classmethod
    def of(cls, row: PitchRow) -> _Scale:
        low, high = floor(row.span_midi[0]) - 1, ceil(row.span_midi[1]) + 1
        high = max(high, low + LEAST_SEMITONES)
        return cls(low=low, high=high, semitone_mm=min(SEMITONE_MM, MOST_MM / (high - low)))

    @property
    def foot_mm(self) -> float:
        return TOP_MM + (self.high - self.low) * self.semitone_mm

    def y_mm(self, pitch_midi: float) -> float:
        return self.foot_mm - (pitch_midi - self.low) * self.semitone_mm


def _rules(row: PitchRow, scale: _Scale) -> Iterator[str]:
    end, lowest = row.time.points[-1][1], None
    for midi, name in row.rules:
        if scale.low <= midi <= scale.high:
            y = scale.y_mm(midi)
            yield line(LEFT_MM - 1.0, y, end, y, _SCALE)
            if lowest is None or lowest - y >= 3.4:
                yield letter(LEFT_MM - 1.8, y + 1.1, name, _NAME, Anchor.END).svg
                lowest = y


def _ticks(row: PitchRow, scale: _Scale) -> Iterator[str]:
    for second, words in row.ticks:
        x = row.time.x_mm(second)
        yield line(x, TOP_MM, x, scale.foot_mm + (1.2 if words else 0.0), _BAR if words else _BEAT)
        if words:
            yield letter(x + 0.4, scale.foot_mm + 4.0, words, _NAME, Anchor.START).svg


def _written(row: PitchRow, scale: _Scale) -> Iterator[str]:
    for span in row.written:
        y, x0, x1 = scale.y_mm(span.pitch_midi), row.time.x_mm(span.from_s), row.time.x_mm(span.to_s)
        yield rectangle(Box(x0, y - 1.0, max(x1 - 0.3, x0 + 0.5), y + 1.0), fill=Ink.RULE, radius=0.4, class_="meant")


def _curves(row: PitchRow, scale: _Scale) -> Iterator[str]:
    for mark in row.marks:
        if mark.is_dead:
            continue
        x0, y0 = row.time.x_mm(mark.onset_s), scale.y_mm(mark.pitch_midi)
        x1 = min(row.time.x_mm(mark.offset_s), row.time.points[-1][1])
        box = Box(x0, y0 - 2.2, max(x1, x0 + 1.0), y0 + 2.2)
        ground = rectangle(box, radius=0.6, class_="halo")
        yield group("note", ground, *_curve(row, scale, mark), circle(x0, y0, 0.7, fill=Ink.INK), data_note=mark.number)


def _curve(row: PitchRow, scale: _Scale, mark: PlayedMark) -> Iterator[str]:
    """The stretches where a pitch was heard; one flat stroke where there is no curve."""
    end = row.time.points[-1][1]
    points = [
        None
        if cents is None
        else (row.time.x_mm(mark.onset_s + at * row.step_s), scale.y_mm(mark.pitch_midi + cents / 100.0))
        for at, cents in enumerate(mark.curve_cents)
        if mark.onset_s + at * row.step_s <= mark.offset_s
    ]
    if not any(points):
        y = scale.y_mm(mark.pitch_midi)
        points = [(row.time.x_mm(mark.onset_s), y), (row.time.x_mm(mark.offset_s), y)]
    run: list[tuple[float, float]] = []
    for point in (*points, None):
        if point is not None and point[0] <= end and TOP_MM <= point[1] <= scale.foot_mm:
            run.append(point)
        elif run:
            commands: list[str | tuple[float, float]] = ["M", run[0]]
            for later in run[1:] or run:
                commands += ["L", later]
            yield path(commands, CURVE, "curve")
            run = []

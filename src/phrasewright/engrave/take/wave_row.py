"""One line of a take: its sound as a wave, where each note began in it, and a sign where the note was meant to be.

Over an engraved system the wave is bent to the system's own spacing, so that sound stands over the note it became; a
hair line leads from the onset heard to the sign over the written place, and leans when the note came early or late.
Motifs stand above as brackets with their letters. x follows a row of (second, mm) points, straight between them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from phrasewright.engrave.lettering import Face, Style, letter, width_mm
from phrasewright.engrave.palette import Ink, paint
from phrasewright.engrave.svg import Pen, figure, group, line, path, tag, units
from phrasewright.engrave.take.played import PlayedMark, sign

LABELS_MM, WAVE_MM, SIGNS_MM = 6.2, 13.0, 6.5
HEIGHT_MM = LABELS_MM + WAVE_MM + SIGNS_MM
STEP_MM = 0.35
_WAVE_Y = LABELS_MM + WAVE_MM / 2
_SIGN_Y = LABELS_MM + WAVE_MM + SIGNS_MM / 2 + 0.4
_LETTER = Style(face=Face.SERIF_BOLD, size_mm=4.2)
_BEAT, _BAR = Pen(ink=Ink.RULE, width_mm=0.2), Pen(ink=Ink.HELP, width_mm=0.25)
_LEAD, _LEAD_OFF = Pen(ink=Ink.HELP, width_mm=0.2), Pen(ink=Ink.NOW, width_mm=0.3)
_BRACKET = Pen(width_mm=0.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """How loud a take is: greatest sample in every step, 0..1 of the take's greatest."""

    step_s: float
    peaks: tuple[float, ...]

    def between(self, start_s: float, end_s: float) -> float:
        """The greatest in a stretch, 0 outside the take."""
        first, last = int(max(start_s, 0.0) / self.step_s), int(max(end_s, 0.0) / self.step_s)
        return max(self.peaks[first : last + 1], default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLine:
    """Seconds of a take along a line. points: (second, mm), rising in both; width_mm: of the line."""

    points: tuple[tuple[float, float], ...]
    width_mm: float

    @property
    def start_s(self) -> float:
        """The first second on it."""
        return self.points[0][0]

    @property
    def end_s(self) -> float:
        """The last second on it."""
        return self.points[-1][0]

    def x_mm(self, second: float) -> float:
        """Where a second stands; beyond the ends as the nearest stretch goes on."""
        return _along(self.points, second)

    def second_at(self, x_mm: float) -> float:
        """Which second stands at a place."""
        return _along(tuple((x, s) for s, x in self.points), x_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenPlace:
    """Where a note belongs on the line. is_bar: a bar begins there."""

    x_mm: float
    is_bar: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifBracket:
    """A motif in the take. label: its letter; words: what it is."""

    from_s: float
    to_s: float
    label: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveRow:
    """One line of a take. marks: notes with the place each is meant for, None = where it was heard; missed: places."""

    time: TimeLine
    marks: tuple[tuple[PlayedMark, float | None], ...]
    beats: tuple[WrittenPlace, ...] = ()
    motifs: tuple[MotifBracket, ...] = ()
    missed: tuple[float, ...] = ()


def wave_row(row: WaveRow, envelope: Envelope, *, id_prefix: str, label: str) -> str:
    """The line as an SVG figure. label: what it is, for a screen reader."""
    body = [
        *_beats(row),
        _wave(row.time, envelope),
        *_motifs(row),
        *(missed_sign(x, _SIGN_Y) for x in row.missed),
        *_notes(row),
    ]
    return figure(
        body,
        kind="wave",
        width_mm=row.time.width_mm,
        height_mm=HEIGHT_MM,
        title=label,
        desc="; ".join(mark.words for mark, _ in row.marks) or "No note begins here.",
        id_prefix=id_prefix,
    )


def _beats(row: WaveRow) -> Iterator[str]:
    for beat in row.beats:
        yield line(beat.x_mm, LABELS_MM, beat.x_mm, LABELS_MM + WAVE_MM, _BAR if beat.is_bar else _BEAT)


def _wave(time: TimeLine, envelope: Envelope) -> str:
    """The wave, thin where it is silent."""
    first, last = time.points[0][1], time.points[-1][1]
    edges = [first + step * STEP_MM for step in range(ceil((last - first) / STEP_MM) + 1)]
    seconds = [time.second_at(x) for x in edges]
    upper = [
        (x, max(envelope.between(start_s, end_s) * WAVE_MM / 2, 0.06))
        for x, (start_s, end_s) in zip(edges, pairwise(seconds), strict=False)
    ]
    around = [(x, _WAVE_Y - h) for x, h in upper] + [(x, _WAVE_Y + h) for x, h in reversed(upper)]
    points = " ".join(f"{units(x)},{units(y)}" for x, y in around)
    return tag("polygon", points=points, fill=paint(Ink.HELP), fill_opacity="0.45", class_="sound")


def _motifs(row: WaveRow) -> Iterator[str]:
    end = -1.0
    for motif in row.motifs:
        if motif.to_s < row.time.start_s or motif.from_s > row.time.end_s:
            continue
        x0, x1 = (min(max(row.time.x_mm(at), 0.0), row.time.width_mm) for at in (motif.from_s, motif.to_s))
        y, x1 = LABELS_MM - 0.6, max(x1, x0 + 1.5)
        yield path(("M", (x0, y), "L", (x0, y - 1.0), "L", (x1, y - 1.0), "L", (x1, y)), _BRACKET, "motif")
        middle, half = (x0 + x1) / 2, width_mm(motif.label, _LETTER) / 2
        if middle - half > end + 0.8:
            yield letter(middle, y - 1.9, motif.label, _LETTER).svg
            end = middle + half


def missed_sign(x: float, y: float) -> str:
    """The sign of a written note that was not played: a square in dashes."""
    return group("missed", path(_square(x, y, 1.2), Pen(ink=Ink.HELP, width_mm=0.3, dash_mm=(0.5, 0.5))))


def _square(x: float, y: float, r: float) -> tuple[str | tuple[float, float], ...]:
    return ("M", (x - r, y - r), "L", (x + r, y - r), "L", (x + r, y + r), "L", (x - r, y + r), "Z")


def _notes(row: WaveRow) -> Iterator[str]:
    for mark, written_mm in row.marks:
        heard_mm = row.time.x_mm(mark.onset_s)
        meant_mm = heard_mm if written_mm is None else written_mm
        pen = _LEAD_OFF if mark.ink is Ink.NOW else _LEAD
        foot = LABELS_MM + WAVE_MM
        yield path(("M", (heard_mm, LABELS_MM), "L", (heard_mm, foot), "L", (meant_mm, _SIGN_Y - 1.4)), pen, "onset")
        yield sign(mark, meant_mm, _SIGN_Y)


def _along(points: Sequence[tuple[float, float]], at: float) -> float:
    if len(points) < 2:
        return points[0][1]
    place = min(max(bisect_right(points, (at, float("inf"))), 1), len(points) - 1)
    (a, x0), (b, x1) = points[place - 1], points[place]
    return x0 + (x1 - x0) * (at - a) / (b - a)

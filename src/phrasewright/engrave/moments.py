"""Time against place on an engraved line: where each moment stands, and where the line is silent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from phrasewright.engrave.geometry import extents
from phrasewright.engrave.mei_staff import piece_id, piece_numbers, rest_numbers
from phrasewright.engrave.outlines import SVG
from phrasewright.engrave.overlay import Page
from phrasewright.engrave.rows import Silence
from phrasewright.score.notation import WrittenBar

_HEADS = ("clef", "keySig", "meterSig")
_EDGE = 90.0  # room between a bar line or note and a ruler


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The bars of one system. bars: of the whole score; start, end: its own, as a slice."""

    bars: tuple[WrittenBar, ...]
    start: int
    end: int

    @property
    def own(self) -> tuple[WrittenBar, ...]:
        """Its own bars."""
        return self.bars[self.start : self.end]


@dataclass(frozen=True, slots=True)
class _Edges:
    """Left and right of the music in one bar, in page units."""

    left: float
    right: float


def moments_of(page: Page, line: Line) -> tuple[tuple[Fraction, float], ...]:
    """(time, x) of every written moment of a line and of its end, rising in both."""
    edges = _edges(page)
    heads = _heads(page, line)
    found = {bar.measure.onset: edge.left for bar, edge in zip(line.own, edges, strict=True)} | heads
    found[line.own[-1].measure.end] = edges[-1].right
    rising: list[tuple[Fraction, float]] = []
    for time, x in sorted(found.items()):
        if not rising or x > rising[-1][1]:
            rising.append((time, x))
    return tuple(rising)


def silences_of(page: Page, line: Line) -> tuple[Silence, ...]:
    """The silent stretches of a line, bar by bar; those shorter than a counted unit are left out."""
    heads = _heads(page, line)
    silences = []
    for bar, edge in zip(line.own, _edges(page), strict=True):
        for start, end in _silent(bar):
            if end - start < bar.measure.meter.unit:
                continue
            x0 = edge.left if start == bar.measure.onset else heads.get(start, edge.left)
            x1 = edge.right - _EDGE if end == bar.measure.end else heads.get(end, edge.right) - 2 * _EDGE
            if x1 - x0 > _EDGE:
                silences.append(Silence(x0, x1, tuple(_ticks(bar, start, end, x0, x1))))
    return tuple(silences)


def _silent(bar: WrittenBar) -> Iterator[tuple[Fraction, Fraction]]:
    at = bar.measure.onset
    played = sorted((e.onset, e.end) for voice in bar.voices for e in voice if not e.is_rest)
    for onset, end in (*played, (bar.measure.end, bar.measure.end)):
        if onset > at:
            yield at, onset
        at = max(at, end)


def _ticks(bar: WrittenBar, start: Fraction, end: Fraction, x0: float, x1: float) -> Iterator[float]:
    """Marks on the beats inside a silence, and at its end."""
    beat = bar.measure.meter.pulse
    count = int(bar.measure.meter.bar / beat)
    beats = [bar.measure.onset + place * beat for place in range(count)]
    for time in [time for time in beats if start <= time < end] + [end]:
        yield x0 + (x1 - x0) * float((time - start) / (end - start))


def _heads(page: Page, line: Line) -> dict[Fraction, float]:
    """Left edge of what is written at each moment; rests that fill a bar stand in its middle and do not count."""
    pieces, rests = piece_numbers(line.bars), rest_numbers(line.bars)
    found: dict[Fraction, float] = {}
    for bar in line.own:
        for number, voice in zip(bar.numbers, bar.voices, strict=True):
            for event in voice:
                if event.is_rest:
                    names = [] if event.whole_bar else [f"r{rests[number, event.onset]}"]
                else:
                    names = [piece_id("n", index, pieces[index, event.onset]) for index in event.indices]
                for x in _lefts(page, names):
                    found[event.onset] = min(found.get(event.onset, x), x)
    return found


def _lefts(page: Page, names: Sequence[str]) -> Iterator[float]:
    for name in names:
        head = page.head_of(name)
        if head is not None:
            yield head.x0


def _edges(page: Page) -> list[_Edges]:
    edges: list[_Edges] = []
    for measure in page.measures():
        bar_lines = [child for child in measure if "barLine" in str(child.get("class"))]
        right = min(box.x0 for bar_line in bar_lines for box in extents(bar_line, page.glyphs))
        left = edges[-1].right + 2 * _EDGE if edges else 0.0
        edges.append(_Edges(max([left, *_head_rights(page, measure)]), right))
    return edges


def _head_rights(page: Page, measure: etree._Element) -> Iterator[float]:
    """Right edges of clef, key and meter at the start of a bar."""
    for group in measure.iter(f"{{{SVG}}}g"):
        if group.get("class") in _HEADS:
            yield from (box.x1 + 2 * _EDGE for box in extents(group, page.glyphs))

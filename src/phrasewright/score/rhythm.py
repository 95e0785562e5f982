"""How a stretch of a bar is written: which note values, tied where, so that the beats stay visible.

A bar is a tree of spans: halves, felt groups, beats, halves of beats (``bar_tree``). A note or rest may be one value
when it fills a span, or when it crosses inner borders in one of the ways readers know (a dotted value that starts or
ends with the span, the long middle of short-long-short); otherwise it is cut at a border and tied. Rests are cut more
strictly than notes. Rules: common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from phrasewright.theory.meter import Meter

SHORTEST_BASE = 128  # 1/128 notes; anything shorter is not readable and is refused


@dataclass(frozen=True, slots=True, order=True)
class NoteValue:
    """A written value. base: 1 whole, 2 half, 4 quarter ... 128; dots; actual:normal of the tuplet (1:1 = none)."""

    base: int
    dots: int = 0
    actual: int = 1
    normal: int = 1

    def __post_init__(self) -> None:
        if self.base < 1 or self.base > SHORTEST_BASE or self.base & (self.base - 1) or not 0 <= self.dots <= 2:
            raise ValueError(f"not a note value: 1/{self.base} with {self.dots} dots")

    @property
    def quarters(self) -> Fraction:
        """Sounding length in quarter notes."""
        return Fraction(4, self.base) * (2 - Fraction(1, 2**self.dots)) * Fraction(self.normal, self.actual)


@cache
def plain_value(length: Fraction) -> NoteValue | None:
    """The undotted or single-dotted value of a length in quarter notes, None when there is none."""
    for dots, share in ((0, Fraction(1)), (1, Fraction(2, 3))):
        base = 4 / (length * share)
        if base.denominator == 1 and base.numerator <= SHORTEST_BASE and not base.numerator & (base.numerator - 1):
            return NoteValue(base.numerator, dots)
    return None


@dataclass(frozen=True, slots=True)
class Span:
    """A node of the bar's tree. start, end: quarter notes; parts: its inner spans, empty when it halves endlessly."""

    start: Fraction
    end: Fraction
    parts: tuple[Span, ...] = ()

    @property
    def length(self) -> Fraction:
        """Length in quarter notes."""
        return self.end - self.start

    @property
    def inner(self) -> tuple[Span, ...]:
        """The parts; two halves where none are given."""
        if self.parts:
            return self.parts
        middle = (self.start + self.end) / 2
        return (Span(self.start, middle), Span(middle, self.end))

    @property
    def borders(self) -> tuple[Fraction, ...]:
        """Borders between the parts."""
        return tuple(part.start for part in self.inner[1:])


@cache
def bar_tree(meter: Meter) -> Span:
    """The spans of one bar of a meter, from 0."""
    leaves = []
    for start, length in zip(meter.group_starts, meter.groups, strict=True):
        count = int(length / meter.unit)
        units = tuple(Span(start + i * meter.unit, start + (i + 1) * meter.unit) for i in range(count))
        leaves.append(_gathered(units))
    return _gathered(tuple(leaves))


def even_tree(start: Fraction, length: Fraction, count: int) -> Span:
    """A span of ``count`` equal parts: the inside of a tuplet."""
    step = length / count
    return Span(start, start + length, tuple(Span(start + i * step, start + (i + 1) * step) for i in range(count)))


def _gathered(spans: tuple[Span, ...]) -> Span:
    """One span over neighbours: halves while their number is even, else side by side."""
    if len(spans) == 1:
        return spans[0]
    same = len({span.length for span in spans}) == 1
    if same and len(spans) > 2 and len(spans) % 2 == 0:
        middle = len(spans) // 2
        spans = (_gathered(spans[:middle]), _gathered(spans[middle:]))
    return Span(spans[0].start, spans[-1].end, spans)


Piece = tuple[Fraction, Fraction]  # start and end in quarter notes
_MayCross = Callable[[Fraction, Fraction, Span], bool]


def note_pieces(start: Fraction, end: Fraction, tree: Span) -> tuple[Piece, ...]:
    """Cut a note inside a tree into as few tied pieces as reading allows, each a plain value.

    Raises ValueError when the length is no sum of values down to 1/128.
    """
    return _pieces(start, end, tree, _note_may_cross)


def rest_pieces(start: Fraction, end: Fraction, tree: Span) -> tuple[Piece, ...]:
    """Cut a rest inside a tree into plain values. Raises ValueError as ``note_pieces`` does."""
    return _pieces(start, end, tree, _rest_may_cross)


@cache
def _pieces(start: Fraction, end: Fraction, span: Span, may_cross: _MayCross) -> tuple[Piece, ...]:
    if end - start < Fraction(4, SHORTEST_BASE):
        raise ValueError(f"a length of {end - start} quarter notes cannot be written")
    whole = (start, end) == (span.start, span.end)
    home = next((part for part in span.inner if part.start <= start and end <= part.end), None)
    if home is not None and not whole:
        return _pieces(start, end, home, may_cross)
    if plain_value(end - start) is not None and may_cross(start, end, span):
        return ((start, end),)
    cuts = [border for border in span.borders if start < border < end]
    ways = [_pieces(start, cut, span, may_cross) + _pieces(cut, end, span, may_cross) for cut in cuts]
    return min(ways, key=len)


def _note_may_cross(start: Fraction, end: Fraction, span: Span) -> bool:
    if {start, end} <= {span.start, span.end, *span.borders}:
        return True
    lengths = {part.length for part in span.inner}
    if len(lengths) > 1 or any(length.numerator & (length.numerator - 1) for length in lengths):
        return False  # felt in three or unevenly: no border may be hidden
    if start == span.start or end == span.end:
        return True
    long_in_the_middle = start - span.start == span.end - end == (end - start) / 2
    return long_in_the_middle and len(span.inner) == 2


def _rest_may_cross(start: Fraction, end: Fraction, span: Span) -> bool:
    if (start, end) == (span.start, span.end):
        return True
    felt_in_three = len(span.inner) == 3 and span.length < 3
    return felt_in_three and start == span.start and end in span.borders

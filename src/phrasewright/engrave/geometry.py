"""Where things stand on an engraved page: bounding boxes of glyphs, lines and curves, read from the SVG.

Curves are boxed by their control points, which is never too small. Units are the page's (1/100 mm), y down.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from lxml import etree

from phrasewright.engrave.outlines import SVG

KEPT_SHAPES = 4096
_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:\d*\.\d+|\d+)(?:[eE][-+]?\d+)?")
_NUMBERS = re.compile(r"[-+]?(?:\d*\.\d+|\d+)")
_ARGUMENTS = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2}


@dataclass(frozen=True, slots=True)
class Extent:
    """A rectangle: x0 <= x1, y0 (top) <= y1 (bottom)."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def around(cls, points: Iterable[tuple[float, float]]) -> Extent:
        """The rectangle around at least one point."""
        xs, ys = zip(*points, strict=True)
        return cls(min(xs), min(ys), max(xs), max(ys))

    @property
    def middle_y(self) -> float:
        """Half-way down."""
        return (self.y0 + self.y1) / 2


def path_points(data: str) -> Iterator[tuple[float, float]]:
    """End and control points of SVG path data (no arcs)."""
    tokens = _TOKEN.findall(data)
    x = y = 0.0
    command, at = "", 0
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
            if command in "zZ":
                continue
        count = _ARGUMENTS[command.lower()]
        numbers = [float(token) for token in tokens[at : at + count]]
        at += count
        points = list(_absolute(command, numbers, x, y))
        yield from points
        x, y = points[-1]
        command = {"m": "l", "M": "L"}.get(command, command)


def _absolute(command: str, numbers: list[float], x: float, y: float) -> Iterator[tuple[float, float]]:
    base_x, base_y = (x, y) if command.islower() else (0.0, 0.0)
    if command in "hH":
        yield base_x + numbers[0], y
    elif command in "vV":
        yield x, base_y + numbers[0]
    else:
        for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
            yield base_x + dx, base_y + dy


@lru_cache(maxsize=KEPT_SHAPES)
def path_extent(data: str) -> Extent:
    """The rectangle around SVG path data; the same glyphs and lines come again and again."""
    return Extent.around(path_points(data))


def union(boxes: Sequence[Extent]) -> Extent:
    """The rectangle around at least one other."""
    return Extent(
        min(box.x0 for box in boxes),
        min(box.y0 for box in boxes),
        max(box.x1 for box in boxes),
        max(box.y1 for box in boxes),
    )


def local_name(element: etree._Element) -> str:
    """An element's name without its namespace."""
    return str(element.tag).rpartition("}")[2]


def glyph_extents(definitions: etree._Element) -> dict[str, Extent]:
    """Id of each music glyph in ``defs`` -> its extent in glyph units, y down."""
    found = {}
    for glyph in definitions.iterfind(f"{{{SVG}}}g"):
        boxes = [path_extent(str(path.get("d"))) for path in glyph]
        if boxes:
            box = union(boxes)
            found[str(glyph.get("id"))] = Extent(box.x0, -box.y1, box.x1, -box.y0)
    return found


def extents(element: etree._Element, glyphs: Mapping[str, Extent]) -> Iterator[Extent]:
    """Extents of everything drawn inside an element."""
    for part in element.iter(etree.Element):
        name = local_name(part)
        if name == "use":
            glyph = glyphs.get(str(part.get("href"))[1:])
            if glyph is not None:
                yield _placed(glyph, str(part.get("transform")))
        elif name == "path":
            yield path_extent(str(part.get("d")))
        elif name in ("polygon", "polyline"):
            numbers = [float(number) for number in _NUMBERS.findall(str(part.get("points")))]
            yield Extent.around(zip(numbers[::2], numbers[1::2], strict=True))


def _placed(glyph: Extent, transform: str) -> Extent:
    x, y, *scales = (float(number) for number in _NUMBERS.findall(transform))
    across, down = (scales * 2)[:2] if scales else (1.0, 1.0)
    return Extent(x + glyph.x0 * across, y + glyph.y0 * down, x + glyph.x1 * across, y + glyph.y1 * down)

"""Drawing in millimetres: a few SVG marks, each a string, and the frame every figure stands in.

Geometry is in mm, y down. In the file one mm is ten user units, so that text keeps whole sizes. Numbers are
rounded to 0.01 unit: the same figure is the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from phrasewright.engrave.palette import Ink, paint

UNITS_PER_MM = 10.0
_ID = re.compile(r"[A-Za-z][\w-]*")


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in mm; x1 > x0, y1 > y0."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Extent along x in mm."""
        return self.x1 - self.x0

    def overlaps(self, other: Box) -> bool:
        """True when the two share area."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How an outline is inked. width in mm; dash: lengths in mm, empty = solid; opacity 0..1."""

    ink: Ink = Ink.INK
    width_mm: float = 0.3
    dash_mm: tuple[float, ...] = ()
    opacity: float = 1.0


HAIR = Pen(width_mm=0.2)
RULE = Pen(ink=Ink.RULE, width_mm=0.25)


def tag(name: str, *children: str, **attributes: str | float | None) -> str:
    """An element. Names take ``_`` for ``-`` and a trailing ``_`` for Python words; None leaves one out."""
    words = [name]
    for key, value in attributes.items():
        if value is not None:
            words.append(f"{key.rstrip('_').replace('_', '-')}={quoteattr(str(value))}")
    inside = "".join(children)
    return f"<{' '.join(words)}>{inside}</{name}>" if inside else f"<{' '.join(words)}/>"


def group(class_: str, *children: str, **attributes: str | float | None) -> str:
    """A ``<g>`` with class hooks."""
    return tag("g", *children, class_=class_, **attributes)


def units(mm: float) -> str:
    """A length as file units, without idle zeros or a negative zero."""
    text = f"{mm * UNITS_PER_MM:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def line(x0: float, y0: float, x1: float, y1: float, pen: Pen = HAIR, class_: str | None = None) -> str:
    """A straight stroke."""
    return tag("line", x1=units(x0), y1=units(y0), x2=units(x1), y2=units(y1), class_=class_, **_stroke(pen))


def circle(
    x: float, y: float, radius: float, *, fill: Ink | None = None, pen: Pen | None = None, class_: str | None = None
) -> str:
    """A circle; no fill and no pen leave it unseen, for a page to light."""
    look = {"fill": "none" if fill is None else paint(fill), **(_stroke(pen) if pen else {"stroke": "none"})}
    return tag("circle", cx=units(x), cy=units(y), r=units(radius), class_=class_, **look)


def rectangle(
    box: Box, *, fill: Ink | None = None, pen: Pen | None = None, radius: float = 0.0, class_: str | None = None
) -> str:
    """A rectangle with round corners when ``radius`` > 0."""
    look = {"fill": "none" if fill is None else paint(fill), **(_stroke(pen) if pen else {"stroke": "none"})}
    size = {"x": units(box.x0), "y": units(box.y0), "width": units(box.width), "height": units(box.y1 - box.y0)}
    return tag("rect", rx=units(radius) if radius else None, class_=class_, **size, **look)


def path(commands: Sequence[str | tuple[float, float]], pen: Pen, class_: str | None = None) -> str:
    """An open path: SVG command letters and points in mm, e.g. ``("M", (0, 0), "L", (1, 1))``."""
    words = [c if isinstance(c, str) else f"{units(c[0])} {units(c[1])}" for c in commands]
    return tag("path", d=" ".join(words), fill="none", stroke_linecap="round", class_=class_, **_stroke(pen))


def polygon(points: Iterable[tuple[float, float]], fill: Ink, class_: str | None = None) -> str:
    """A filled shape."""
    corners = " ".join(f"{units(x)},{units(y)}" for x, y in points)
    return tag("polygon", points=corners, fill=paint(fill), class_=class_)


def figure(
    body: Iterable[str], *, kind: str, width_mm: float, height_mm: float, title: str, desc: str, id_prefix: str
) -> str:
    """A whole SVG file: mm size, viewBox, and a title and description for a screen reader.

    kind: class hook on the root. Raises ValueError when ``id_prefix`` cannot begin an id.
    """
    if not _ID.fullmatch(id_prefix):
        raise ValueError(f"an id begins with a letter and has letters, digits, - and _, got {id_prefix!r}")
    title_id, desc_id = f"{id_prefix}-title", f"{id_prefix}-desc"
    return tag(
        "svg",
        tag("title", escape(title), id=title_id),
        tag("desc", escape(desc), id=desc_id),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{width_mm:.1f}mm",
        height=f"{height_mm:.1f}mm",
        viewBox=f"0 0 {units(width_mm)} {units(height_mm)}",
        class_=f"figure {kind}",
        id=id_prefix,
        role="img",
        aria_labelledby=f"{title_id} {desc_id}",
    )


def _stroke(pen: Pen) -> dict[str, str | None]:
    dash = " ".join(units(length) for length in pen.dash_mm)
    return {
        "stroke": paint(pen.ink),
        "stroke_width": units(pen.width_mm),
        "stroke_dasharray": dash or None,
        "stroke_opacity": f"{pen.opacity:g}" if pen.opacity < 1.0 else None,
    }

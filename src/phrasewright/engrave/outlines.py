"""Text as outlines: lines of text set in SVG without any font on the reader's machine.

Letters are those of the family Tinos (metrics of Times), accidentals those of the music font Leipzig, both under the
SIL Open Font License 1.1; see ``fonts/README.txt``. Text with a character outside the table stays ``<text>``.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from importlib.resources import files

from lxml import etree

EM = 2048  # units of the outlines
SVG = "http://www.w3.org/2000/svg"
SERIF = "Tinos, 'Liberation Serif', 'Times New Roman', Times, serif"


class Style(StrEnum):
    """The cuts at hand."""

    REGULAR = "regular"
    ITALIC = "italic"
    BOLD = "bold"


class Anchor(StrEnum):
    """Which point of a line of text stands at x (SVG ``text-anchor``)."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Run:
    """Text of one style. size: em in user units."""

    text: str
    size: float
    style: Style = Style.REGULAR


@cache
def _table() -> dict[str, dict[str, tuple[int, str]]]:
    text = files("phrasewright.engrave").joinpath("fonts", "outlines.json").read_text(encoding="utf-8")
    return {style: {sign: (a, path) for sign, (a, path) in signs.items()} for style, signs in json.loads(text).items()}


def width_of(runs: Sequence[Run]) -> float:
    """Width of runs in user units; characters outside the table count 0.6 em."""
    return sum(_advance(sign, run.style) * run.size / EM for run in runs for sign in run.text)


def _advance(sign: str, style: Style) -> int:
    return _table()[style].get(sign, (EM * 6 // 10, ""))[0]


@dataclass(slots=True)
class Typesetter:
    """Sets text for one SVG and collects the outlines that it used. prefix: makes their ids unique on a page."""

    prefix: str
    _used: dict[tuple[Style, str], str] = field(default_factory=dict)

    def line(self, runs: Sequence[Run], x: float, y: float, anchor: Anchor = Anchor.START) -> etree._Element:
        """A group that draws runs on the baseline y; ``data-text`` holds the words."""
        text = "".join(run.text for run in runs)
        if any(sign not in _table()[run.style] for run in runs for sign in run.text):
            return _plain_text(runs, x, y, anchor)
        group = etree.Element(f"{{{SVG}}}g", {"class": "text", "data-text": text})
        at = x - width_of(runs) * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[anchor]
        for run in runs:
            for sign in run.text:
                if _table()[run.style][sign][1]:
                    place = f"translate({at:.0f} {y:.0f}) scale({run.size / EM:.4f})"
                    reference = {"href": f"#{self._id(run.style, sign)}", "transform": place}
                    etree.SubElement(group, f"{{{SVG}}}use", reference)
                at += _advance(sign, run.style) * run.size / EM
        return group

    def _id(self, style: Style, sign: str) -> str:
        return self._used.setdefault((style, sign), f"{self.prefix}{style[0]}{ord(sign):x}")

    def definitions(self) -> list[etree._Element]:
        """The outlines used so far, for the SVG's ``defs``."""
        table = _table()
        return [
            etree.Element(f"{{{SVG}}}path", {"id": name, "d": table[style][sign][1]})
            for (style, sign), name in self._used.items()
        ]


def _plain_text(runs: Sequence[Run], x: float, y: float, anchor: Anchor) -> etree._Element:
    attributes = {"x": f"{x:.0f}", "y": f"{y:.0f}", "text-anchor": str(anchor), "font-family": SERIF}
    element = etree.Element(f"{{{SVG}}}text", attributes)
    for run in runs:
        looks = {"font-size": f"{run.size:g}"}
        if run.style is Style.ITALIC:
            looks["font-style"] = "italic"
        if run.style is Style.BOLD:
            looks["font-weight"] = "bold"
        etree.SubElement(element, f"{{{SVG}}}tspan", looks).text = run.text
    return element

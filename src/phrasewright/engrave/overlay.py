"""From the engraver's raw page to a drawing of our own: no style sheet, no fonts, ids unique on a page.

The engraver places the music; the words over and under it are taken out here and set again by ``rows``. Ids written by
``mei`` are kept behind the prefix. Whatever belongs to note k has ``data-note="k"``, tied continuations included. All
ink is ``currentColor``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from lxml import etree

from phrasewright.engrave.geometry import Extent, extents, glyph_extents, local_name, union
from phrasewright.engrave.outlines import SVG, Anchor, Run, Typesetter
from phrasewright.engrave.palette import Ink, paint

UNITS_PER_MM = 100.0
DIGIT_SIZE = 330.0
_WORD = re.compile(r"([fldhsckw])(\d+)")
_DIGIT = re.compile(r"t(\d+)(-\d+)?")
_NOTE = re.compile(r"[nt](\d+)(-\d+)?")
_UNWANTED = frozenset({"placeholder", "mNum", "systemMilestone", "pageMilestone"})
_SIGNS = {"E260": "♭", "E261": "♮", "E262": "♯", "E263": "𝄪", "E264": "𝄫", "266D": "♭", "266E": "♮", "266F": "♯"}
_SIGNS |= {"ED60": "♭", "ED61": "♮", "ED62": "♯", "EA64": "♭", "EA65": "♮", "EA66": "♯"}
_PRIVATE = str.maketrans({chr(int(code, 16)): sign for code, sign in _SIGNS.items()})
_SHAPES = frozenset({"path", "polygon", "polyline", "rect", "ellipse"})
_LINE_WIDTH = 13.0


@dataclass(frozen=True, slots=True)
class Word:
    """Text to be set over or under the music. kind, number: the letters and digits of its id; x: where it belongs."""

    kind: str
    number: int
    text: str
    x: float


@dataclass(slots=True, kw_only=True)
class Page:
    """One page being finished: the new SVG, the engraver's drawing in it, the words taken out of that."""

    root: etree._Element
    music: etree._Element
    glyphs: dict[str, Extent]
    width: float
    prefix: str
    type: Typesetter
    ours: dict[str, etree._Element] = field(default_factory=dict)  # by our own ids, without prefix
    words: list[Word] = field(default_factory=list)
    digits: dict[int, tuple[float, float]] = field(default_factory=dict)  # note number -> middle of its fret digit
    held_digits: dict[int, tuple[float, float]] = field(default_factory=dict)  # the last one in brackets, of tied notes
    top: float = 0.0
    bottom: float = 0.0

    def measures(self) -> Iterator[etree._Element]:
        """The groups of the bars, in order."""
        return (group for group in self.music.iter(_svg("g")) if group.get("class") == "measure")

    def staves(self, number: int) -> list[etree._Element]:
        """The staff groups of one staff (1 notation, 2 tablature), bar by bar."""
        by_bar = ([group for group in bar if group.get("class") == "staff"] for bar in self.measures())
        return [staves[number - 1] for staves in by_bar if len(staves) >= number]

    def head_of(self, name: str) -> Extent | None:
        """Extent of the head of a note (of a rest: of all of it) by one of our own ids, None when it is not here."""
        element = self.ours.get(name)
        if element is None:
            return None
        parts = [part for part in element if part.get("class") == "notehead"] or [element]
        boxes = [box for part in parts for box in extents(part, self.glyphs)]
        return union(boxes) if boxes else None


def open_page(raw: str, *, prefix: str, glyph_prefix: str, label: str, known_ids: frozenset[str]) -> Page:
    """Take a raw page apart.

    prefix: goes before our own ids; glyph_prefix: before those of glyphs; label: words for a screen reader;
    known_ids: ids that our MEI gave.
    """
    source = etree.fromstring(raw.encode("utf-8"))
    inner = next(element for element in source.iter(_svg("svg")) if element.get("class") == "definition-scale")
    looks = {"class": "music", "role": "img", "aria-label": label, "color": paint(Ink.INK)}
    root = etree.Element(_svg("svg"), looks, nsmap={None: SVG})  # type: ignore[dict-item]  # lxml takes None
    definitions = etree.SubElement(root, _svg("defs"))
    definitions.extend(_rename_glyphs(source, glyph_prefix))
    music = etree.SubElement(root, _svg("g"), {"fill": "currentColor"})
    music.extend(list(inner))
    width = float(str(inner.get("viewBox")).split()[2])
    glyphs = glyph_extents(definitions)
    page = Page(root=root, music=music, glyphs=glyphs, width=width, prefix=prefix, type=Typesetter(glyph_prefix))
    _clean(page, known_ids)
    _tidy_tab(page)
    return page


def close_page(page: Page) -> str:
    """The finished SVG as text: viewBox from ``page.top`` to ``page.bottom``."""
    page.root[0].extend(page.type.definitions())
    page.root.set("viewBox", f"0 {page.top:.0f} {page.width:.0f} {page.bottom - page.top:.0f}")
    etree.indent(page.root, space="")
    return etree.tostring(page.root, encoding="unicode")


def _svg(name: str) -> str:
    return f"{{{SVG}}}{name}"


def _classes(element: etree._Element) -> set[str]:
    return set(str(element.get("class", "")).split())


def _rename_glyphs(source: etree._Element, prefix: str) -> list[etree._Element]:
    """The music glyphs under short ids; references follow."""
    names: dict[str, str] = {}
    glyphs = list(source.iterfind(f"{_svg('defs')}/{_svg('g')}"))
    for glyph in glyphs:
        old = str(glyph.get("id"))
        names[f"#{old}"] = f"#{prefix}{old.partition('-')[0]}"
        glyph.set("id", names[f"#{old}"][1:])
    for use in source.iter(_svg("use")):
        use.set("href", names[str(use.get("href"))])
    return glyphs


def _clean(page: Page, known_ids: frozenset[str]) -> None:
    for element in list(page.music.iter(etree.Element)):
        if _classes(element) & _UNWANTED:
            _remove(element)
        elif local_name(element) == "text":
            _take_text(element, page)
        else:
            _plain(element, page, known_ids)
    for group in reversed(list(page.music.iter(_svg("g")))):
        if len(group) == 0:
            _remove(group)


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _plain(element: etree._Element, page: Page, known_ids: frozenset[str]) -> None:
    name = element.attrib.pop("id", "")
    if name in known_ids:
        element.set("id", page.prefix + name)
        page.ours[name] = element
        note = _NOTE.fullmatch(name)
        if note is not None:
            element.set("data-note", note[1])
            element.set("fill", "currentColor")
    if local_name(element) in _SHAPES and "stroke-width" in element.attrib:
        element.set("stroke", "currentColor")


def _take_text(element: etree._Element, page: Page) -> None:
    """Words over and under go to ``page.words``; fret digits and tuplet numbers are set in place."""
    parent = element.getparent()
    if parent is None:
        return
    text = "".join(_leaves(element)).translate(_PRIVATE)
    x, y = float(element.get("x", 0)), float(element.get("y", 0))
    word = _WORD.fullmatch(str(parent.get("id", "")).removeprefix(page.prefix))
    if word is not None:
        page.words.append(Word(word[1], int(word[2]), text, x))
        parent.remove(element)
        return
    digit = _DIGIT.fullmatch(str(parent.get("id", "")).removeprefix(page.prefix))
    if digit is not None:
        (page.held_digits if digit[2] else page.digits)[int(digit[1])] = (x, y)
    held = "held" in _classes(parent)
    text = "X" if "dead" in _classes(parent) else text
    line = page.type.line([Run(f"({text})" if held else text, DIGIT_SIZE)], x, y, Anchor.MIDDLE)
    parent.replace(element, line)


def _leaves(element: etree._Element) -> Iterator[str]:
    return (leaf.text for leaf in element.iter(_svg("tspan")) if len(leaf) == 0 and leaf.text)


# --- the tablature staff


def _tidy_tab(page: Page) -> None:
    """Thin lines with room around the digits; a clef that fits the strings."""
    for staff in page.staves(2):
        lines = [child for child in staff if local_name(child) == "path"]
        spans = [next(extents(line, {})) for line in lines]
        heights = sorted({span.y0 for span in spans})
        x0, x1 = min(span.x0 for span in spans), max(span.x1 for span in spans)
        for line in lines:
            staff.remove(line)
        holes = list(_holes(staff))
        for place, y in enumerate(heights):
            staff.insert(place, _line(y, x0, x1, [hole for hole in holes if abs(hole[0] - y) < DIGIT_SIZE / 2]))
        _fit_clef(staff, page, heights)


def _holes(staff: etree._Element) -> Iterator[tuple[float, float, float]]:
    """Middle height, left and right of every digit."""
    for text in staff.iter(_svg("g")):
        if "text" in _classes(text) and len(text):
            places = [[float(n) for n in re.findall(r"-?[\d.]+", str(use.get("transform")))] for use in text]
            right = places[-1][0] + DIGIT_SIZE / (3 if str(text.get("data-text")).endswith(")") else 2)
            yield places[0][1] - DIGIT_SIZE / 3, places[0][0] - 30.0, right + 30.0


def _line(y: float, x0: float, x1: float, holes: list[tuple[float, float, float]]) -> etree._Element:
    pieces, at = [], x0
    for _, left, right in sorted(holes, key=lambda hole: hole[1]):
        if left > at:
            pieces.append(f"M{at:.0f} {y:.0f}H{left:.0f}")
        at = max(at, right)
    pieces.append(f"M{at:.0f} {y:.0f}H{x1:.0f}")
    looks = {"class": "string", "d": "".join(pieces), "stroke": "currentColor", "stroke-width": f"{_LINE_WIDTH:g}"}
    return etree.Element(_svg("path"), looks)


def _fit_clef(staff: etree._Element, page: Page, heights: list[float]) -> None:
    for clef in staff.iter(_svg("g")):
        if "clef" not in _classes(clef) or len(clef) == 0:
            continue
        x = float(re.findall(r"-?[\d.]+", str(clef[0].get("transform")))[0])
        glyph = page.glyphs[str(clef[0].get("href"))[1:]]
        scale = min(0.72, 0.92 * (heights[-1] - heights[0]) / (glyph.y1 - glyph.y0))
        y = (heights[0] + heights[-1]) / 2 - glyph.middle_y * scale
        clef[0].set("transform", f"translate({x:.0f}, {y:.0f}) scale({scale:.3f}, {scale:.3f})")

"""Words in figures: how wide they are, serif drawn as outlines, chord names.

Serif words and all accidentals are drawn as outlines (``fonts/README.txt``), so that they look alike on every page
and printer. Sans words are text in a family with the metrics of Arial; widths were read from Liberation Sans, in
thousandths of an em, ASCII 32 to 126. Sizes are font sizes in mm; the smallest in use, 3.2 mm, is just over 9 points.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import groupby
from xml.sax.saxutils import escape

from phrasewright.engrave.palette import Ink, paint
from phrasewright.engrave.svg import UNITS_PER_MM, Box, group, tag, units
from phrasewright.theory.chord import Chord

TEXT_MM = 3.2
ASCENT_EM, DESCENT_EM = 0.74, 0.21  # cap height with accidentals; tails of g and p
_SANS = """278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278
278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944
667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 278
556 500 722 500 500 500 334 260 334 584"""
_SANS_BOLD = """278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556
333 333 584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667
944 667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556
333 611 556 778 556 556 500 389 280 389 584"""
_ACCIDENTALS = "♭♯♮"
_OUTLINE_EM = 2048
_BEARING_EM = 0.03  # paper before an accidental
_BOLDER = 70  # stroke that makes an accidental bold, in 2048ths of an em
_OUTLINE_SIZE = {"♭": 1.18, "♯": 1.15, "♮": 1.15}  # against the letters beside them
_OTHER_EM = {"½": 0.834, "–": 0.556, "—": 1.0, "…": 1.0, "·": 0.333, "’": 0.3, "\xa0": 0.278}


class Face(StrEnum):
    """The faces in use."""

    SANS = "sans"
    SANS_BOLD = "sans bold"
    SERIF = "serif"
    SERIF_BOLD = "serif bold"
    SERIF_ITALIC = "serif italic"


_WIDTHS = {
    face: dict(zip(map(chr, range(32, 127)), (int(word) / 1000 for word in table.split()), strict=True))
    for face, table in ((Face.SANS, _SANS), (Face.SANS_BOLD, _SANS_BOLD))
}
_CUTS = {Face.SERIF: "regular", Face.SERIF_BOLD: "bold", Face.SERIF_ITALIC: "italic"}
SANS_FAMILY = "Liberation Sans, Arial, Helvetica, sans-serif"
SERIF_FAMILY = "Liberation Serif, Times New Roman, Times, serif"


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How words are set. size in mm; raise: how far above the line, in mm."""

    size_mm: float = TEXT_MM
    face: Face = Face.SANS
    ink: Ink = Ink.INK
    raise_mm: float = 0.0


class Anchor(StrEnum):
    """Which point of the words stands at x."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Run:
    """Words in one style."""

    words: str
    style: Style


@dataclass(frozen=True, slots=True)
class Lettered:
    """Words as drawn: the marks and the room they take."""

    svg: str
    box: Box


def width_mm(words: str, style: Style) -> float:
    """Room that words take along the line, in mm."""
    return style.size_mm * sum(_advance_em(sign, style.face) for sign in words)


def runs_width_mm(runs: Sequence[Run]) -> float:
    """Room of several runs set one after the other, in mm."""
    return sum(width_mm(run.words, run.style) for run in runs)


def letter(x: float, y: float, words: str, style: Style, anchor: Anchor = Anchor.MIDDLE) -> Lettered:
    """Words on a baseline at y."""
    return letter_runs(x, y, (Run(words, style),), anchor)


def letter_runs(x: float, y: float, runs: Sequence[Run], anchor: Anchor = Anchor.START) -> Lettered:
    """Runs set one after the other on a baseline at y. Raises ValueError when there is nothing to set."""
    if not any(run.words for run in runs):
        raise ValueError("no words to set")
    width = runs_width_mm(runs)
    left = x - {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[anchor]
    marks, at = [], left
    for run in runs:
        for piece, drawn in _pieces(run.words, run.style.face):
            marks.append((_drawn if drawn else _set)(at, y - run.style.raise_mm, piece, run.style))
            at += width_mm(piece, run.style)
    top = max(ASCENT_EM * run.style.size_mm + run.style.raise_mm for run in runs)
    bottom = max(DESCENT_EM * run.style.size_mm - run.style.raise_mm for run in runs)
    return Lettered("".join(marks), Box(left, y - top, left + width, y + bottom))


def chord_runs(chord: Chord | None, size_mm: float, ink: Ink = Ink.INK) -> tuple[Run, ...]:
    """A chord name for print: the root large, what follows smaller, the slash bass between."""
    large = Style(size_mm=size_mm, face=Face.SERIF, ink=ink)
    if chord is None:
        return (Run("N.C.", replace(large, size_mm=0.8 * size_mm)),)
    root = chord.root.printed
    bass = "" if chord.bass is None else f"/{chord.bass.printed}"
    middle = chord.printed[len(root) : len(chord.printed) - len(bass)]
    small = replace(large, size_mm=max(TEXT_MM, 0.74 * size_mm))
    between = replace(large, size_mm=max(TEXT_MM, 0.86 * size_mm))
    return tuple(Run(words, style) for words, style in ((root, large), (middle, small), (bass, between)) if words)


def letter_chord(x: float, y: float, chord: Chord | None, size_mm: float, room_mm: float) -> Lettered:
    """A chord name from x, made smaller down to 3.2 mm and then narrower, so that it never leaves ``room_mm``."""
    size = size_mm
    while size > TEXT_MM and runs_width_mm(chord_runs(chord, size)) > room_mm:
        size = max(TEXT_MM, size - 0.2)
    drawn = _squeezed(x, y, chord_runs(chord, size), room_mm)
    return Lettered(group("chord-name", drawn.svg), drawn.box)


def letter_chord_stacked(x: float, y: float, chord: Chord | None, size_mm: float, room_mm: float) -> Lettered:
    """As ``letter_chord``, but a name too long for its room stands on two lines: kind above, changes and bass below."""
    below = "" if chord is None else _changes(chord)
    if chord is None or not below or runs_width_mm(chord_runs(chord, 0.62 * size_mm)) <= room_mm:
        return letter_chord(x, y, chord, size_mm, room_mm)
    plain = Chord(root=chord.root, kind=chord.kind)
    size = max(TEXT_MM, 0.62 * size_mm)
    upper = letter_chord(x, y - 1.15 * TEXT_MM, plain, size, room_mm)
    lower = _squeezed(x, y, (Run(below, Style(face=Face.SERIF)),), room_mm)
    box = Box(x, upper.box.y0, max(upper.box.x1, lower.box.x1), lower.box.y1)
    return Lettered(group("chord-name", upper.svg, lower.svg), box)


def _changes(chord: Chord) -> str:
    """What follows root and kind in print."""
    return chord.printed[len(Chord(root=chord.root, kind=chord.kind).printed) :]


def _squeezed(x: float, y: float, runs: Sequence[Run], room_mm: float) -> Lettered:
    drawn = letter_runs(x, y, runs)
    if drawn.box.width <= room_mm:
        return drawn
    turn = f"translate({units(x)} 0) scale({room_mm / drawn.box.width:.3f} 1) translate({units(-x)} 0)"
    return Lettered(group("narrow", drawn.svg, transform=turn), replace(drawn.box, x1=x + room_mm))


@cache
def _outlines() -> dict[str, dict[str, tuple[int, str]]]:
    """Cut -> sign -> advance and path, in 2048ths of an em; see ``fonts/README.txt``."""
    text = files("phrasewright.engrave").joinpath("fonts", "outlines.json").read_text(encoding="utf-8")
    return {cut: {sign: (a, d) for sign, (a, d) in signs.items()} for cut, signs in json.loads(text).items()}


def _outline(sign: str, face: Face) -> tuple[float, float, str] | None:
    """Size against the letters, advance in em and path of a sign that is drawn; None for one set as text."""
    if face not in _CUTS and sign not in _ACCIDENTALS:
        return None
    found = _outlines()[_CUTS.get(face, "regular")].get(sign)
    size, bearing = (_OUTLINE_SIZE[sign], _BEARING_EM) if sign in _ACCIDENTALS else (1.0, 0.0)
    return None if found is None else (size, size * found[0] / _OUTLINE_EM + bearing, found[1])


@cache
def _advance_em(sign: str, face: Face) -> float:
    drawn = _outline(sign, face)
    if drawn is not None:
        return drawn[1]
    widths = _WIDTHS.get(face, _WIDTHS[Face.SANS])
    base = unicodedata.normalize("NFD", sign)[0]
    return widths.get(sign, _OTHER_EM.get(sign, widths.get(base, 0.7)))


def _pieces(words: str, face: Face) -> list[tuple[str, bool]]:
    """Cut into stretches that are all drawn (True) or all set as text."""
    grouped = groupby(words, key=lambda sign: _outline(sign, face) is not None)
    return [("".join(signs), drawn) for drawn, signs in grouped]


def _drawn(x: float, y: float, piece: str, style: Style) -> str:
    scale = style.size_mm * UNITS_PER_MM / _OUTLINE_EM
    marks, at = [], 0.0
    for sign in piece:
        size, advance, d = _outline(sign, style.face) or (1.0, 0.0, "")
        if d:
            bearing = _BEARING_EM * _OUTLINE_EM if size != 1.0 else 0.0
            turn = f"translate({at + bearing:.0f} 0)" + (f" scale({size:g})" if size != 1.0 else "")
            marks.append(tag("path", d=d, transform=turn))
        at += advance * _OUTLINE_EM
    turn = f"translate({units(x)} {units(y)}) scale({scale:.5f})"
    colour = paint(style.ink)
    bold = style.face is Face.SANS_BOLD  # an accidental beside bold figures
    return group(
        "drawn",
        *marks,
        transform=turn,
        fill=colour,
        stroke=colour if bold else None,
        stroke_width=_BOLDER if bold else None,
        data_text=piece,
    )


def _set(x: float, y: float, piece: str, style: Style) -> str:
    inner = piece.strip()
    if not inner:
        return ""
    lead = width_mm(piece[: len(piece) - len(piece.lstrip())], style)
    return tag(
        "text",
        escape(inner),
        x=units(x + lead + width_mm(inner, style) / 2),
        y=units(y),
        text_anchor="middle",
        font_family=SERIF_FAMILY if style.face in _CUTS else SANS_FAMILY,
        font_size=units(style.size_mm),
        font_weight="bold" if style.face in (Face.SANS_BOLD, Face.SERIF_BOLD) else None,
        font_style="italic" if style.face is Face.SERIF_ITALIC else None,
        fill=paint(style.ink),
    )

"""Words in figures: how wide they are, accidentals drawn as shapes, chord names set in serif.

Widths are those of the metric families Liberation Sans and Serif (the same as Arial and Times New Roman), read from
the fonts, in thousandths of an em, ASCII 32 to 126. Sharps and flats are drawn, because these fonts have none and a
borrowed sign would not fit. Sizes are font sizes in mm; the smallest in use, 3.2 mm, is just over 9 points.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from xml.sax.saxutils import escape

from phrasewright.engrave.palette import Ink, paint
from phrasewright.engrave.svg import Box, group, tag, units
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
_SERIF = """250 333 408 500 500 833 778 180 333 333 500 564 250 333 250 278 500 500 500 500 500 500 500 500 500 500 278
278 564 564 564 444 921 722 667 667 722 611 556 722 722 333 389 722 611 889 722 722 556 722 667 556 611 722 722 944
722 722 611 333 278 333 469 500 333 444 500 444 500 444 333 500 500 278 278 500 278 778 500 500 500 500 333 389 278
500 500 722 500 500 444 480 200 480 541"""
_SERIF_BOLD = """250 333 555 500 500 1000 833 278 333 333 500 570 250 333 250 278 500 500 500 500 500 500 500 500 500
500 333 333 570 570 570 500 930 722 667 722 722 667 611 778 778 389 500 778 667 944 722 778 611 778 722 556 667 722
722 1000 722 722 667 333 278 333 581 500 333 500 556 444 556 444 333 500 556 278 333 556 278 833 556 500 556 556 444
389 333 556 500 722 500 500 444 394 220 394 520"""
_SERIF_ITALIC = """250 333 420 500 500 833 778 214 333 333 500 675 250 333 250 278 500 500 500 500 500 500 500 500 500
500 333 333 675 675 675 500 920 611 611 667 722 611 611 722 722 333 444 667 556 833 667 722 611 722 611 500 556 722
611 833 611 556 556 389 278 389 422 500 333 500 500 444 500 444 278 500 500 278 278 444 278 722 500 500 500 500 389
389 278 500 444 667 444 444 389 400 275 400 541"""
_ACCIDENTAL_EM = {"♭": 0.38, "♯": 0.46}
_OTHER_EM = {"½": 0.834, "–": 0.556, "—": 1.0, "…": 1.0, "·": 0.333, "’": 0.3, "\xa0": 0.278}


class Face(StrEnum):
    """The faces in use."""

    SANS = "sans"
    SANS_BOLD = "sans bold"
    SERIF = "serif"
    SERIF_BOLD = "serif bold"
    SERIF_ITALIC = "serif italic"


_TABLES = ((_SANS, Face.SANS), (_SANS_BOLD, Face.SANS_BOLD), (_SERIF, Face.SERIF), (_SERIF_BOLD, Face.SERIF_BOLD))
_WIDTHS = {
    face: dict(zip(map(chr, range(32, 127)), (int(word) / 1000 for word in table.split()), strict=True))
    for table, face in (*_TABLES, (_SERIF_ITALIC, Face.SERIF_ITALIC))
}
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
        for piece in _pieces(run.words):
            inner = piece.strip()
            if inner:
                lead = width_mm(piece[: len(piece) - len(piece.lstrip())], run.style)
                centre = at + lead + width_mm(inner, run.style) / 2
                marks.append(_piece(at + lead, centre, y - run.style.raise_mm, inner, run.style))
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


def _advance_em(sign: str, face: Face) -> float:
    if sign in _ACCIDENTAL_EM:
        return _ACCIDENTAL_EM[sign]
    plain = _WIDTHS[face].get(sign)
    if plain is None:
        base = unicodedata.normalize("NFD", sign)[0]
        plain = _OTHER_EM.get(sign, _WIDTHS[face].get(base, 0.7))
    return plain


def _pieces(words: str) -> list[str]:
    """Cut so that every accidental stands alone."""
    pieces: list[str] = []
    for sign in words:
        if pieces and sign not in _ACCIDENTAL_EM and pieces[-1] not in _ACCIDENTAL_EM:
            pieces[-1] += sign
        else:
            pieces.append(sign)
    return pieces


def _piece(x: float, centre: float, y: float, piece: str, style: Style) -> str:
    if piece in _ACCIDENTAL_EM:
        return _flat(x, y, style) if piece == "♭" else _sharp(x, y, style)
    serif = style.face in (Face.SERIF, Face.SERIF_BOLD, Face.SERIF_ITALIC)
    bold = style.face in (Face.SANS_BOLD, Face.SERIF_BOLD)
    return tag(
        "text",
        escape(piece),
        x=units(centre),
        y=units(y),
        text_anchor="middle",
        font_family=SERIF_FAMILY if serif else SANS_FAMILY,
        font_size=units(style.size_mm),
        font_weight="bold" if bold else None,
        font_style="italic" if style.face is Face.SERIF_ITALIC else None,
        fill=paint(style.ink),
    )


def _flat(x: float, y: float, style: Style) -> str:
    em = style.size_mm
    point = _pointer(x, y, em)
    stem = f"M {point(0.10, 0.77)} L {point(0.10, 0.01)}"
    bowl = f"C {point(0.24, 0.10)} {point(0.35, 0.21)} {point(0.34, 0.33)}"
    back = f"C {point(0.33, 0.46)} {point(0.18, 0.45)} {point(0.10, 0.32)}"
    return _stroked(f"{stem} {bowl} {back}", 0.068 * em, style)


def _sharp(x: float, y: float, style: Style) -> str:
    em = style.size_mm
    point = _pointer(x, y, em)
    stems = f"M {point(0.17, 0.68)} L {point(0.17, -0.06)} M {point(0.30, 0.74)} L {point(0.30, 0.0)}"
    bars = f"M {point(0.07, 0.17)} L {point(0.40, 0.26)} M {point(0.07, 0.42)} L {point(0.40, 0.51)}"
    return _stroked(stems, 0.05 * em, style) + _stroked(bars, 0.08 * em, style)


def _pointer(x: float, y: float, em: float) -> Callable[[float, float], str]:
    return lambda right, up: f"{units(x + right * em)} {units(y - up * em)}"


def _stroked(d: str, stroke_mm: float, style: Style) -> str:
    return tag("path", d=d, fill="none", stroke=paint(style.ink), stroke_width=units(stroke_mm), class_="accidental")

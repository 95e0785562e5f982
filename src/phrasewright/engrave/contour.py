"""Ink for sound, paper for silence: the line of a melody in time, and the measured width of a rest.

A *sound* is a stretch of x at a height. Sounds that touch are one line; where a sound ends before the next begins,
the line ends too. Rests are marked with a fine bracket on the open paper, as wide as the silence is long.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from phrasewright.engrave.lettering import Lettered, Style, letter, width_mm
from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Box, Pen, circle, group, line, path, rectangle

HEAD_MM, HEAD_HALO_MM = 1.25, 2.4  # radii
WASH = Pen(width_mm=4.2, opacity=0.10)
LINE = Pen(width_mm=0.55)
BRACKET = Pen(ink=Ink.HELP, width_mm=0.22)
_HELP = Style(ink=Ink.HELP)
_EDGE_MM = 1.0  # paper between a sound or bar line and a bracket
_FRACTIONS = {
    Fraction(1, 2): "½",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 3): "1/3",
    Fraction(2, 3): "2/3",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """A note on paper, in mm. end_mm: where it falls silent."""

    x_mm: float
    end_mm: float
    y_mm: float


def ribbons(sounds: Sequence[Sound]) -> Iterator[str]:
    """The inked line of each unbroken run: a pale wash under a fine line."""
    for run in _runs(sounds):
        commands: list[str | tuple[float, float]] = ["M", (run[0].x_mm, run[0].y_mm)]
        for here, there in pairwise(run):
            middle = (here.x_mm + there.x_mm) / 2
            commands += ["C", (middle, here.y_mm), (middle, there.y_mm), (there.x_mm, there.y_mm)]
        wash = [*commands, "L", _stop(run[-1], WASH.width_mm / 2)]
        yield group("ribbon", path(wash, WASH, "wash"), path([*commands, "L", _stop(run[-1], 0.4)], LINE, "line"))


def _stop(last: Sound, before_mm: float) -> tuple[float, float]:
    """Where the pen lifts, so that its round end lies on the end of the sound."""
    return max(last.end_mm - before_mm, last.x_mm + 0.01), last.y_mm


def head(sound: Sound, **hooks: str | float | None) -> str:
    """The head of a note with an unseen halo to light; ``hooks`` are attributes of its group."""
    marks = (_halo(sound), circle(sound.x_mm, sound.y_mm, HEAD_MM, fill=Ink.INK, class_="head"))
    return group("note", *marks, **hooks)


def dead_head(sound: Sound, **hooks: str | float | None) -> str:
    """A cross for a dead note, which has no pitch to draw a line at; halo and ``hooks`` as in ``head``."""
    x, y = sound.x_mm, sound.y_mm
    up = path(["M", (x - HEAD_MM, y + HEAD_MM), "L", (x + HEAD_MM, y - HEAD_MM)], LINE, "head")
    down = path(["M", (x - HEAD_MM, y - HEAD_MM), "L", (x + HEAD_MM, y + HEAD_MM)], LINE, "head")
    return group("note", _halo(sound), up, down, **hooks)


def _halo(sound: Sound) -> str:
    return circle(sound.x_mm, sound.y_mm, HEAD_HALO_MM, class_="halo")


def rest_words(length: Fraction, unit: Fraction) -> str:
    """A silence in counted units, for print: ``rest 2``, ``rest 1½``."""
    whole, share = divmod(length / unit, 1)
    part = _FRACTIONS.get(share, str(share)) if share else ""
    return f"rest {whole or ''}{' ' if whole and '/' in part else ''}{part}"


def rest_bracket(x0: float, x1: float, y: float, words: str) -> tuple[str, Lettered | None]:
    """A bracket across a silence with its length in the middle; words that do not fit are shortened or left out."""
    left, right = x0 + _EDGE_MM, x1 - _EDGE_MM
    if right - left < 1.5:
        return "", None
    marks = [
        line(left, y, right, y, BRACKET),
        line(left, y - 1.0, left, y + 1.0, BRACKET),
        line(right, y - 1.0, right, y + 1.0, BRACKET),
    ]
    drawn = None
    for candidate in (words, words.removeprefix("rest ")):
        if width_mm(candidate, _HELP) + 2.6 <= right - left:
            drawn = letter((left + right) / 2, y + 1.15, candidate, _HELP)
            ground = Box(drawn.box.x0 - 0.7, y - 1.2, drawn.box.x1 + 0.7, y + 1.2)
            marks += [rectangle(ground, fill=Ink.PAPER), drawn.svg]
            break
    return group("rest", *marks), drawn


def _runs(sounds: Sequence[Sound]) -> list[list[Sound]]:
    runs: list[list[Sound]] = []
    for sound in sounds:
        if runs and runs[-1][-1].end_mm > sound.x_mm - 0.05:
            runs[-1].append(sound)
        else:
            runs.append([sound])
    return runs

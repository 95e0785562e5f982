"""What a handout shows, as plain values: no layout, no files.

Everything arrives finished: SVG text already in literal colours, sentences already written. The teacher's own
words are data and are never read as markup.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Paper(StrEnum):
    """Paper sizes by their typst names."""

    A4 = "a4"
    LETTER = "us-letter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """An SVG figure.

    width_mm: printed width; alt: what it shows, for a screen reader; caption: pencilled under it; name: set over it.
    """

    svg: str
    width_mm: float
    alt: str
    caption: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """An exercise or study and its systems. notes: pencilled in the margin, one for each system."""

    title: str
    words: str
    systems: tuple[Picture, ...]
    notes: tuple[str, ...] = ()
    facts: str = ""  # e.g. "8 bars, half of it space"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitRow:
    """How one motif sits on each chord of the chart. cells: words and the number behind them."""

    letter: str
    degrees: str
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Pictures of one scale, so many side by side."""

    columns: int
    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One handout.

    paragraphs: the teacher's words; fits_words: what the numbers of the fits mean; cautions: printed last; stamp: the
    footer.
    """

    title: str
    school: str
    teacher: str
    paragraphs: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    position: tuple[Picture, ...]
    chord_tones: Row
    chart: Picture
    motifs: Row
    fit_chords: tuple[str, ...]
    fits: tuple[FitRow, ...]
    fits_words: str
    exercises: tuple[Piece, ...]
    studies: tuple[Piece, ...]
    cautions: tuple[str, ...]
    stamp: str

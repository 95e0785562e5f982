"""All figures of a lesson, by their path in the pack.

Page and handout show these same files. A figure's path is its identity: systems of a piece are
``figures/<piece>/<sheet>-<first bar>-<last bar>.svg`` with sheet ``wide`` (page and print) or ``narrow`` (phones).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from phrasewright.app.pieces import BandPiece
from phrasewright.engrave.chart_figure import bars_that_read, chart_figure
from phrasewright.engrave.handout.pdf import COLUMN_MM
from phrasewright.engrave.motif_card import motif_card
from phrasewright.engrave.neck_diagram import NeckLabels, neck_diagram
from phrasewright.engrave.strip import strip
from phrasewright.engrave.systems import engrave_score
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase

WIDE_MM = 165.0  # systems are drawn this wide and printed a little smaller, to the sheet's column
NARROW_MM = 96.0
NARROW_BARS = 2
STRIP_BARS = 4
_SYSTEM = re.compile(r"figures/(?P<piece>[\w-]+)/(?P<sheet>\w+)-(?P<first>\d+)-(?P<last>\d+)\.svg")


class SheetWidth(StrEnum):
    """The two engravings of a piece."""

    WIDE = "wide"
    NARROW = "narrow"


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFigure:
    """One system of a piece as drawn: SVG and the bars it shows, from 1."""

    svg: str
    first_bar: int
    last_bar: int


def draw_figures(plan: LessonPlan, pieces: tuple[BandPiece, ...]) -> dict[str, str]:
    """Every figure of the lesson, path -> SVG. pieces: those shown in notation (exercises and study)."""
    return dict(_lesson_figures(plan)) | {path: svg for piece in pieces for path, svg in _piece_figures(piece)}


def systems_of(figures: Mapping[str, str], piece_id: str, sheet: SheetWidth) -> tuple[SystemFigure, ...]:
    """The systems of a piece in order."""
    found = []
    for path, svg in figures.items():
        match = _SYSTEM.fullmatch(path)
        if match and match["piece"] == piece_id and match["sheet"] == sheet:
            found.append(SystemFigure(svg=svg, first_bar=int(match["first"]), last_bar=int(match["last"])))
    return tuple(sorted(found, key=lambda system: system.first_bar))


def id_prefix(piece_id: str, sheet: SheetWidth) -> str:
    """What the ids of a piece's systems begin with: ``study-1-wide-``."""
    return f"{piece_id}-{sheet}-"


def neck_path(labels: NeckLabels) -> str:
    """Path of a diagram of the position."""
    return f"figures/position-{labels}.svg"


def tones_path(number: int) -> str:
    """Path of the diagram of a chord's tones; chords are numbered from 1 as they come in the chart."""
    return f"figures/chord-{number}.svg"


def motif_path(letter: str) -> str:
    """Path of a motif's card."""
    return f"figures/motif-{letter.lower()}.svg"


def strip_path(piece_id: str, sheet: SheetWidth) -> str:
    """Path of the strip that shows a piece's phrases and silence."""
    return f"figures/{piece_id}/strip-{sheet}.svg"


CHART_PATH = "figures/chart.svg"


def first_phrase(plan: LessonPlan, motif: Motif) -> Phrase:
    """A motif as it is shown: with the first count of its size."""
    return Phrase(motif, plan.material.counts_for(motif)[0])


def _lesson_figures(plan: LessonPlan) -> Iterator[tuple[str, str]]:
    for labels in NeckLabels:
        yield neck_path(labels), neck_diagram(plan.position, labels=labels, id_prefix=f"neck-{labels}-")
    for number, chord in enumerate(plan.lesson.chart.chords, start=1):
        yield tones_path(number), neck_diagram(plan.position, chord=chord, id_prefix=f"chord-{number}-")
    chart = plan.lesson.chart
    bars = bars_that_read(chart, width_mm=COLUMN_MM)
    yield CHART_PATH, chart_figure(chart, bars_per_line=bars, width_mm=COLUMN_MM, id_prefix="chart-")
    for item in plan.shelf.items:
        count = first_phrase(plan, item.motif).count
        prefix = f"motif-{item.letter.lower()}-"
        yield motif_path(item.letter), motif_card(item.motif, item.letter, count, id_prefix=prefix)


def _piece_figures(piece: BandPiece) -> Iterator[tuple[str, str]]:
    for sheet, width_mm, bars in ((SheetWidth.WIDE, COLUMN_MM, None), (SheetWidth.NARROW, NARROW_MM, NARROW_BARS)):
        prefix = f"{piece.id}-strip-{sheet}-"
        yield (
            strip_path(piece.id, sheet),
            strip(piece.score, bars_per_line=bars or STRIP_BARS, width_mm=width_mm, id_prefix=prefix),
        )
        system_mm = WIDE_MM if sheet is SheetWidth.WIDE else width_mm
        engraving = engrave_score(
            piece.lead_only, id_prefix=id_prefix(piece.id, sheet), width_mm=system_mm, bars_per_system=bars
        )
        for system in engraving.systems:
            yield f"figures/{piece.id}/{sheet}-{system.first_bar:03}-{system.last_bar:03}.svg", system.svg

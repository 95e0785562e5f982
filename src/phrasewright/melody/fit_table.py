"""Every motif of a shelf over every chord of a chart, for page and handout."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.melody.fit import Fit, Grade, fit_motif
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import Shelf, ShelfMotif
from phrasewright.score.chart import Chart
from phrasewright.theory.chord import Chord


@dataclass(frozen=True, slots=True, kw_only=True)
class FitCell:
    """One motif over one chord."""

    chord: Chord
    fit: Fit

    @property
    def grade(self) -> Grade:
        """In a word."""
        return self.fit.grade

    @property
    def landing_words(self) -> str:
        """The last note: ``the third of A7``."""
        return self.fit.landing.words

    @property
    def bits(self) -> float:
        """Mean log2 of how usual its notes are against chance; above 0 is more usual."""
        return self.fit.bits


@dataclass(frozen=True, slots=True, kw_only=True)
class FitRow:
    """One motif of the shelf and its cells, one for each chord in order of first appearance."""

    item: ShelfMotif
    cells: tuple[FitCell, ...]

    @property
    def letter(self) -> str:
        """The motif's name."""
        return self.item.letter


def fit_table(shelf: Shelf, chart: Chart, *, idiom: Idiom = Idiom.JAZZ) -> tuple[FitRow, ...]:
    """One row for each motif, one cell for each distinct chord of the chart."""
    return tuple(
        FitRow(
            item=item,
            cells=tuple(FitCell(chord=chord, fit=fit_motif(item.motif, chord, idiom=idiom)) for chord in chart.chords),
        )
        for item in shelf.items
    )

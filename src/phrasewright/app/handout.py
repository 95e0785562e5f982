"""The handout of a lesson: its figures and words as one sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping

from phrasewright.app.facts import fit_words, lesson_facts, paragraphs, piece_facts, stamp
from phrasewright.app.figures import (
    CHART_PATH,
    SheetWidth,
    motif_path,
    neck_path,
    systems_of,
    tones_path,
)
from phrasewright.app.pieces import BandPiece
from phrasewright.engrave.handout.pdf import COLUMN_MM
from phrasewright.engrave.handout.sheet import FitRow, Picture, Piece, Sheet
from phrasewright.engrave.neck_diagram import NeckLabels
from phrasewright.engrave.page.content import USUAL_CAUTIONS
from phrasewright.engrave.palette import flatten
from phrasewright.engrave.spoken import spoken_motif, spoken_position
from phrasewright.engrave.words import spoken_chart
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import fit_table

_WIDTH = re.compile(r'\bwidth="([\d.]+)mm"')
CARD_MM = 47.0  # three cards stand side by side
HALF_MM = 73.0


def sheet_of(
    plan: LessonPlan,
    exercises: tuple[BandPiece, ...],
    study: BandPiece,
    figures: Mapping[str, str],
    *,
    digest: str,
) -> Sheet:
    """Lay out the lesson's content; the look stands in ``handout.typ``."""
    lesson = plan.lesson
    return Sheet(
        title=lesson.title,
        school=lesson.school,
        teacher=lesson.teacher,
        paragraphs=paragraphs(lesson.words),
        facts=lesson_facts(plan),
        position=(_picture(figures[neck_path(NeckLabels.FINGERS)], spoken_position(plan.position), COLUMN_MM),),
        chord_tones=tuple(
            _picture(figures[tones_path(number)], f"The tones of {chord.printed}.", HALF_MM, caption=chord.printed)
            for number, chord in enumerate(lesson.chart.chords, start=1)
        ),
        chart=_picture(figures[CHART_PATH], spoken_chart(lesson.chart), COLUMN_MM),
        motifs=tuple(
            _picture(figures[motif_path(item.letter)], spoken_motif(item.motif, item.letter), CARD_MM)
            for item in plan.shelf.items
        ),
        motif_reasons=tuple((item.letter, item.why.split(": ", 1)[1]) for item in plan.shelf.items),
        fit_chords=tuple(chord.printed for chord in lesson.chart.chords),
        fits=tuple(
            FitRow(
                letter=row.letter,
                degrees=row.item.motif.degrees_text,
                cells=tuple(fit_words(cell) for cell in row.cells),
            )
            for row in fit_table(plan.shelf, lesson.chart, idiom=lesson.shelf.idiom)
        ),
        exercises=tuple(_piece(piece, figures, notes=()) for piece in exercises),
        study=(_piece(study, figures, notes=_margin_notes(plan, study, figures)),),
        cautions=USUAL_CAUTIONS,
        stamp=stamp(digest, lesson.seed),
    )


def _picture(svg: str, alt: str, most_mm: float, *, caption: str = "") -> Picture:
    """A figure at its own width, at most ``most_mm``."""
    found = _WIDTH.search(svg[: svg.index(">")])
    own_mm = float(found[1]) if found else most_mm
    return Picture(svg=flatten(svg), width_mm=min(own_mm, most_mm), alt=alt, caption=caption)


def _piece(piece: BandPiece, figures: Mapping[str, str], *, notes: tuple[str, ...]) -> Piece:
    systems = systems_of(figures, piece.id, SheetWidth.WIDE)
    return Piece(
        title=piece.score.title,
        words=piece.score.words,
        systems=tuple(
            _picture(system.svg, f"Bars {system.first_bar} to {system.last_bar} of {piece.score.title}.", COLUMN_MM)
            for system in systems
        ),
        notes=notes,
        facts=piece_facts(piece),
    )


def _margin_notes(plan: LessonPlan, study: BandPiece, figures: Mapping[str, str]) -> tuple[str, ...]:
    """For every system of the study, the reasons of the phrases that begin in it."""
    return tuple(
        " ".join(
            placed.reason.sentence
            for placed in plan.study.phrases
            if system.first_bar <= placed.bar + 1 <= system.last_bar
        )
        for system in systems_of(figures, study.id, SheetWidth.WIDE)
    )

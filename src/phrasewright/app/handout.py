"""The handout of a lesson: its figures and words as one sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from phrasewright.app.facts import BITS_WORDS, bits_text, fit_words, lead_facts, lesson_facts, paragraphs, stamp
from phrasewright.app.figures import (
    CHART_PATH,
    SheetWidth,
    motif_path,
    neck_path,
    systems_of,
)
from phrasewright.app.pieces import BandPiece
from phrasewright.compose.study import Study
from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.handout.pdf import COLUMN_MM
from phrasewright.engrave.handout.sheet import FitRow, Picture, Piece, Row, Sheet
from phrasewright.engrave.neck_diagram import NeckLabels, layout, neck_diagram
from phrasewright.engrave.page.content import USUAL_CAUTIONS
from phrasewright.engrave.palette import flatten
from phrasewright.engrave.spoken import spoken_motif, spoken_position
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import fit_table

_WIDTH = re.compile(r'\bwidth="([\d.]+)mm"')
GUTTER_MM = 4.0  # between pictures side by side
LEAST_SHARE = 0.83  # of its own size: the smallest lettering, 9 points, is then 7.5
NECKS_MM = range(50, int(COLUMN_MM) + 1, 2)  # widths tried, the narrowest that keeps the neck on one line is taken
NECK_SPACES = 3  # small necks show unused frets only up to here


def sheet_of(
    plan: LessonPlan,
    exercises: tuple[BandPiece, ...],
    studies: tuple[BandPiece, ...],
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
        chord_tones=_row(_chord_tones(plan)),
        chart=_picture(figures[CHART_PATH], spoken_chart(lesson.chart), COLUMN_MM),
        motifs=_row(
            [
                _picture(
                    figures[motif_path(item.letter)],
                    spoken_motif(item.motif, item.letter),
                    COLUMN_MM,
                    caption=item.why.split(": ", 1)[1],
                    name=plan.names.get(item.letter, ""),
                )
                for item in plan.shelf.items
            ]
        ),
        fit_chords=tuple(chord.printed for chord in lesson.chart.chords),
        fits=tuple(
            FitRow(
                letter=row.letter,
                degrees=row.item.motif.degrees_text,
                cells=tuple((fit_words(cell), bits_text(cell.bits)) for cell in row.cells),
            )
            for row in fit_table(plan.shelf, lesson.chart, idiom=lesson.shelf.idiom)
        ),
        fits_words=BITS_WORDS,
        exercises=tuple(_piece(piece, figures, notes=()) for piece in exercises),
        studies=tuple(
            _piece(piece, figures, notes=_margin_notes(study, piece, figures))
            for piece, study in zip(studies, plan.studies, strict=True)
        ),
        cautions=USUAL_CAUTIONS,
        stamp=stamp(digest, lesson.seed),
    )


def _chord_tones(plan: LessonPlan) -> list[Picture]:
    """The position once for each chord, its tones filled, on necks as narrow as can be read."""
    position = plan.position
    lines = {width: len(layout(position, max_width_mm=width, least_spaces=NECK_SPACES).stretches) for width in NECKS_MM}
    width_mm = next(width for width in NECKS_MM if lines[width] == min(lines.values()))
    return [
        _picture(
            neck_diagram(
                position,
                chord=chord,
                id_prefix=f"tones-{number}-",
                max_width_mm=width_mm,
                least_spaces=NECK_SPACES,
            ),
            f"The tones of {chord.printed} are filled.",
            COLUMN_MM,
        )
        for number, chord in enumerate(plan.lesson.chart.chords, start=1)
    ]


def _row(pictures: Sequence[Picture]) -> Row:
    """Pictures side by side, at most three, all at one scale; none smaller than can be read, unless the sheet ends."""
    widest_mm = max((picture.width_mm for picture in pictures), default=1.0)
    rooms = {columns: (COLUMN_MM - (columns - 1) * GUTTER_MM) / columns for columns in (3, 2, 1)}
    columns = next((number for number, room in rooms.items() if room >= LEAST_SHARE * widest_mm), 1)
    scale = min(1.0, rooms[columns] / widest_mm)
    return Row(columns=columns, pictures=tuple(replace(p, width_mm=round(p.width_mm * scale, 2)) for p in pictures))


def _picture(svg: str, alt: str, most_mm: float, *, caption: str = "", name: str = "") -> Picture:
    """A figure at its own width, at most ``most_mm``."""
    found = _WIDTH.search(svg[: svg.index(">")])
    own_mm = float(found[1]) if found else most_mm
    return Picture(svg=flatten(svg), width_mm=min(own_mm, most_mm), alt=alt, caption=caption, name=name)


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
        facts=lead_facts(piece.lead_only, is_open=piece.is_open),
    )


def _margin_notes(study: Study, piece: BandPiece, figures: Mapping[str, str]) -> tuple[str, ...]:
    """For every system of a study, the reasons of the phrases that begin in it."""
    return tuple(
        " ".join(
            placed.reason.sentence for placed in study.phrases if system.first_bar <= placed.bar + 1 <= system.last_bar
        )
        for system in systems_of(figures, piece.id, SheetWidth.WIDE)
    )

"""What the teacher's desk shows of a lesson, as plain values ready for JSON.

Places are ``string-fret``, as in the figures; bars count from 1; times are quarter notes as floats.
"""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.app.desk.neck_view import NeckOnDesk, neck_on_desk, place_text
from phrasewright.app.facts import bits_text, fit_words, lead_facts, lesson_facts, study_reasons
from phrasewright.app.figures import first_phrase
from phrasewright.compose.difficulty import difficulty_of_phrase
from phrasewright.compose.study import Study
from phrasewright.engrave.chart_figure import bars_that_read, chart_figure
from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.handout.pdf import COLUMN_MM
from phrasewright.engrave.motif_card import motif_card
from phrasewright.engrave.spoken import spoken_count, spoken_motif
from phrasewright.lesson.plan import LessonPlan
from phrasewright.lesson.write import left_out_text
from phrasewright.lesson.written import written_of
from phrasewright.melody.fit_table import FitRow, fit_table
from phrasewright.melody.motif import Motif
from phrasewright.theory.count import Count


@dataclass(frozen=True, slots=True, kw_only=True)
class FitOnDesk:
    """How a motif sits over one chord."""

    chord: str
    words: str
    number: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifOnDesk:
    """A motif of the shelf. degrees, cycle: as the file would write it; written: number of its block, None = chosen."""

    letter: str
    degrees: str
    cycle: int
    name: str
    places: list[str]
    shape: str
    count: str
    card: str
    words: str
    why: str
    difficulty: float
    fits: list[FitOnDesk]
    written: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CountOnDesk:
    """A count. strokes: [onset, duration] in quarter notes; length: of its bars, in quarter notes."""

    text: str
    notes: int
    words: str
    strokes: list[tuple[float, float]]
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordOnDesk:
    """A chord of the chart and where its tones lie in the position."""

    name: str
    printed: str
    tones: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartOnDesk:
    """The chart, drawn and in words."""

    svg: str
    words: str
    bars: int
    chords: list[ChordOnDesk]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonOnDesk:
    """Why a phrase stands where it does."""

    first_bar: int
    last_bar: int
    letter: str
    count: str
    words: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyOnDesk:
    """A composed study. rules: those it keeps, in words."""

    id: str
    title: str
    bars: int
    facts: str
    rules: list[str]
    reasons: list[ReasonOnDesk]


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOnDesk:
    """An exercise by name."""

    id: str
    title: str
    facts: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOnDesk:
    """All that a lesson without mistakes teaches. left_out: motifs that are not to be chosen, as the file has them.

    beat: quarter notes to a tapped beat, which tempos count.
    """

    facts: list[tuple[str, str]]
    neck: NeckOnDesk
    motifs: list[MotifOnDesk]
    left_out: list[str]
    counts: list[CountOnDesk]
    chart: ChartOnDesk
    studies: list[StudyOnDesk]
    exercises: list[PieceOnDesk]
    tempos: list[float]
    beat: float


def plan_on_desk(plan: LessonPlan) -> PlanOnDesk:
    """Everything there is to show of a plan but its engraving and its sound."""
    lesson = plan.lesson
    rows = fit_table(plan.shelf, lesson.chart, idiom=lesson.shelf.idiom)
    return PlanOnDesk(
        facts=list(lesson_facts(plan)),
        neck=neck_on_desk(plan),
        motifs=[_motif(number, row, plan) for number, row in enumerate(rows)],
        left_out=[left_out_text(motif) for motif in lesson.shelf.left_out],
        counts=[_count(count, size) for size, counts in lesson.counts.items() for count in counts],
        chart=_chart(plan),
        studies=[_study(number, study) for number, study in enumerate(plan.studies, start=1)],
        exercises=[
            PieceOnDesk(id=f"exercise-{number}", title=exercise.score.title, facts="")
            for number, exercise in enumerate(plan.exercises, start=1)
        ],
        tempos=list(lesson.tempos_bpm),
        beat=lesson.quarters_per_minute(1.0),
    )


def _motif(number: int, row: FitRow, plan: LessonPlan) -> MotifOnDesk:
    item = row.item
    phrase = first_phrase(plan, item.motif)
    return MotifOnDesk(
        letter=item.letter,
        degrees=_degrees(item.motif),
        cycle=item.motif.cycles[0],
        name=plan.names.get(item.letter, ""),
        places=[place_text(note.place) for note in item.motif.notes],
        shape=str(item.motif.contour),
        count=phrase.count.text,
        card=motif_card(item.motif, item.letter, phrase.count, id_prefix=f"card-{item.letter.lower()}-"),
        words=spoken_motif(item.motif, item.letter, phrase.count),
        why=item.why.split(": ", 1)[1],
        difficulty=round(difficulty_of_phrase(phrase).level, 1),
        fits=[
            FitOnDesk(chord=cell.chord.printed, words=fit_words(cell), number=f"{bits_text(cell.bits)} bits")
            for cell in row.cells
        ],
        written=number if number < len(plan.lesson.shelf.written) else None,
    )


def _degrees(motif: Motif) -> str:
    """As the file would write it; plain degrees for a leap that cannot be written."""
    try:
        return written_of(motif).text
    except ValueError:
        return " ".join(str(note.degree) for note in motif.notes)


def _count(count: Count, notes: int) -> CountOnDesk:
    return CountOnDesk(
        text=count.text,
        notes=notes,
        words=spoken_count(count),
        strokes=[(float(stroke.onset), float(stroke.duration)) for stroke in count.strokes],
        length=float(count.bars * count.meter.bar),
    )


def _chart(plan: LessonPlan) -> ChartOnDesk:
    chart = plan.lesson.chart
    bars = bars_that_read(chart, width_mm=COLUMN_MM)
    return ChartOnDesk(
        svg=chart_figure(chart, bars_per_line=bars, width_mm=COLUMN_MM, id_prefix="chart-"),
        words=spoken_chart(chart),
        bars=len(chart.bars),
        chords=[
            ChordOnDesk(
                name=str(chord),
                printed=chord.printed,
                tones=[
                    place_text(note.place)
                    for note in plan.position.notes
                    if note.pitch.midi % 12 in chord.pitch_classes
                ],
            )
            for chord in chart.chords
        ],
    )


def _study(number: int, study: Study) -> StudyOnDesk:
    reasons = zip(study.phrases, study_reasons(study), strict=True)
    return StudyOnDesk(
        id=f"study-{number}",
        title=study.score.title,
        bars=len(study.score.measures),
        facts=lead_facts(study.score),
        rules=list(study.rules),
        reasons=[
            ReasonOnDesk(
                first_bar=reason.first_bar,
                last_bar=reason.last_bar,
                letter=placed.letter,
                count=placed.phrase.count.text,
                words=reason.words,
                second=reason.second,
            )
            for placed, reason in reasons
        ],
    )

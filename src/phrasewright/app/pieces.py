"""The pieces of a lesson with their band: every exercise, every study, and the track to play over.

Exercises and studies loop, so their band goes round; the track has an ending. The track's lead is a demonstration:
it plays the first study once and leaves the later choruses to the student.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from phrasewright.band.arrange import accompany
from phrasewright.band.form import Ending
from phrasewright.band.groove import Groove
from phrasewright.compose.exercise import ExerciseKind
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Measure, Part, PartRole, Score


@dataclass(frozen=True, slots=True, kw_only=True)
class BandPiece:
    """Something to play with the band. id: unique, lower case; score: lead, chords, bass and drums together.

    is_open: part of it is the player's own choice; chart_bars: numbers of the chart's bars that it goes over, in turn.
    """

    id: str
    score: Score
    is_open: bool = False
    chart_bars: tuple[int, ...] = ()

    @property
    def lead(self) -> Part:
        """The line to practise."""
        return self.score.part(PartRole.LEAD)

    @property
    def lead_only(self) -> Score:
        """The line without its band: what is engraved."""
        return replace(self.score, parts=(self.lead,), drums=None)


def exercise_pieces(plan: LessonPlan) -> tuple[BandPiece, ...]:
    """The exercises in order, each over a band that goes round."""
    return tuple(
        replace(
            _with_band(f"exercise-{number}", exercise.score, plan, Ending.LOOP),
            is_open=exercise.kind is ExerciseKind.FREE_CHOICE,
            chart_bars=plan.lesson.chart.even_numbers,
        )
        for number, exercise in enumerate(plan.exercises, start=1)
    )


def study_pieces(plan: LessonPlan) -> tuple[BandPiece, ...]:
    """The studies, each over a band that goes round."""
    studies = enumerate(plan.studies, start=1)
    return tuple(_with_band(f"study-{number}", study.score, plan, Ending.LOOP) for number, study in studies)


def track_piece(plan: LessonPlan, ending: Ending) -> BandPiece:
    """All choruses of the chart, the first study as demonstration in the lead."""
    return _track(plan, ending, 1)


def whole_track(plan: LessonPlan, ending: Ending) -> BandPiece:
    """All choruses of the chart, the first study in the lead again and again."""
    lesson = plan.lesson
    return _track(plan, ending, ceil(lesson.choruses * len(lesson.chart.bars) / lesson.study.bars))


def track_bars(plan: LessonPlan, ending: Ending) -> tuple[Measure, ...]:
    """The bars of the track: what goes round is the choruses alone, what ends has the pick-up and the coda too."""
    chart, choruses = plan.lesson.chart, plan.lesson.choruses
    return chart.whole(choruses) if ending is Ending.FINAL else chart.unfold(choruses * len(chart.bars))


def _track(plan: LessonPlan, ending: Ending, times: int) -> BandPiece:
    lesson = plan.lesson
    measures = track_bars(plan, ending)
    study = plan.studies[0].score
    lead = study.part(PartRole.LEAD)
    start = next(measure.onset for measure in measures if measure.number)
    bars = lesson.chart.bars_in(lesson.choruses) if ending is Ending.FINAL else len(measures)
    end = start + lesson.chart.onset(bars)
    notes = (replace(note, onset=start + note.onset + turn * study.end) for turn in range(times) for note in lead.notes)
    score = Score(
        title=f"{lesson.title}: the track",
        measures=measures,
        parts=(replace(lead, notes=tuple(note for note in notes if note.end <= end)),),
        fifths=study.fifths,
    )
    return _with_band("track", score, plan, ending)


def band_score(title: str, measures: tuple[Measure, ...], groove: Groove, *, seed: int, ending: Ending) -> Score:
    """The band over some bars, without a lead."""
    band = accompany(measures, groove, seed=seed, ending=ending)
    return Score(title=title, measures=measures, parts=band.parts, fifths=0, drums=band.drums)


def _with_band(id_: str, score: Score, plan: LessonPlan, ending: Ending) -> BandPiece:
    ensemble = accompany(score.measures, plan.lesson.groove, seed=plan.lesson.seed, ending=ending)
    return BandPiece(
        id=id_,
        score=replace(score, parts=(*score.parts, *ensemble.parts), drums=ensemble.drums),
        chart_bars=tuple(range(1, len(plan.lesson.chart.bars) + 1)),
    )

"""The pieces of a lesson whose chart changes meter and tempo, stops, picks up and ends."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from phrasewright.app.facts import lesson_facts
from phrasewright.app.page import track_words
from phrasewright.app.pieces import exercise_pieces, study_pieces, track_piece, whole_track
from phrasewright.band.form import Ending
from phrasewright.lesson.plan import LessonPlan
from phrasewright.lesson.plan import plan as plan_lesson
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import PartRole

LESSON = """\
[lesson]
title = "The ferry tune"
seed = 3

[scale]
root = "A"

[position]
style = "open"
lowest_string = 5

[motifs]
sizes = [3]
shelf = 3

[band]
groove = "shuffle"
tempos = [120]
choruses = 2
chart = "CHART"

[study]
bars = 5
"""
CHART = "(E7) | Am7 | 2/4 D7 | 4/4 Am7! | @80% E7 @coda | @100% Am7 |\\n[Coda] | Dm7 | Am7! |"


@pytest.fixture(scope="module")
def plan() -> LessonPlan:
    text = LESSON.replace("CHART", CHART)
    return plan_lesson(read_lesson(text, "tune.toml"), file="tune.toml", text=text)


def test_exercises_go_over_the_even_bars(plan: LessonPlan) -> None:
    """All in one meter and tempo, and each bar knows which one of the chart it is."""
    for piece in exercise_pieces(plan):
        assert {(str(bar.meter), bar.pace) for bar in piece.score.measures} == {("4/4", 1)}
        assert piece.chart_bars == (1, 3, 4, 5)
        for bar in piece.score.measures:
            number = piece.chart_bars[(bar.number - 1) % len(piece.chart_bars)]
            assert bar.chords[0].chord == plan.lesson.chart.bars[number - 1].chords[0][0]


def test_the_study_keeps_to_the_bars(plan: LessonPlan) -> None:
    """It follows the chart bar by bar; a phrase begins at its bar line and no note reaches over a short bar's end."""
    (study,) = study_pieces(plan)
    assert [str(bar.meter) for bar in study.score.measures] == ["4/4", "2/4", "4/4", "4/4", "4/4"]
    lines = {bar.onset for bar in study.score.measures}
    assert all(note.onset in lines for note in study.lead.notes if note.label)
    for note in study.lead.notes:
        assert note.end <= study.score.measure_at(note.onset).end
    for placed in plan.studies[0].phrases:
        begins = plan.lesson.chart.onset(placed.bar)
        assert begins in {note.onset for note in study.lead.notes}
        assert 0 <= placed.reason.rest < placed.bars * Fraction(4)


def test_the_track_begins_and_ends_once(plan: LessonPlan) -> None:
    """The files have the pick-up and the coda, what goes round has neither; the lead begins with the first bar."""
    final, loop = track_piece(plan, Ending.FINAL), track_piece(plan, Ending.LOOP)
    assert [bar.number for bar in final.score.measures] == list(range(12))
    assert len(loop.score.measures) == 10
    shift = final.score.measures[1].onset
    assert shift == 1
    first, again = (piece.lead.notes for piece in (final, loop))
    assert [note.onset - shift for note in first] == [note.onset for note in again]
    coda = final.score.measures[-2].onset
    long = whole_track(plan, Ending.FINAL)
    assert all(note.end <= coda for note in long.lead.notes)
    assert len(long.lead.notes) > len(first)
    last = [note for part in final.score.parts for note in part.notes if note.onset >= final.score.measures[-1].onset]
    assert {part.role for part in final.score.parts} >= {PartRole.BASS, PartRole.CHORDS}
    assert all(note.duration <= Fraction(1, 2) for note in last)


def test_the_facts_name_every_meter(plan: LessonPlan) -> None:
    """A student sees at once that bars are not all alike."""
    assert dict(lesson_facts(plan))["Meter"] == "4/4 with bars of 2/4, shuffle"


def test_the_page_says_what_goes_round_without(plan: LessonPlan) -> None:
    """Who looks for the coda in the page's track reads where it is; of a plain chart nothing is said."""
    assert track_words(plan.lesson.chart).endswith("It goes round here: pick-up and coda are in the audio files.")
    assert track_words(replace(plan.lesson.chart, pickup=None)).endswith("coda is in the audio files.")
    assert "round" not in track_words(plan.lesson.chart.even())

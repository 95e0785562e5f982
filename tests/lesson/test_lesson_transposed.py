"""A lesson moved to another key is the same lesson: only its notes and frets are higher."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.lesson.model import Lesson
from phrasewright.lesson.plan import LessonPlan, plan
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import PartRole, Score
from phrasewright.theory.interval import Degree
from phrasewright.theory.scale import Scale

UP = {1: "b2", 2: "2", 3: "b3", 4: "3", 5: "4", 7: "5"}  # frets: the root's new degree
CHARTS = (
    "| A7 | D7 | A7 | % | D7 | % | A7 | % | E7 | D7 | A7 | E7 |",
    "| Am7 | D7/F# | N.C. | E7(#9) |",
    "|: Dm7 G7 | Cmaj7 | 1. Bm7b5 E7 :| 2. A5 |",
)
LESSON = """
[lesson]
title = "x"
seed = {seed}
[scale]
root = "{root}"
kind = "{kind}"
[position]
fret = {fret}
[motifs]
sizes = {sizes}
shelf = {shelf}
[band]
chart = "{chart}"
"""


@st.composite
def box_lessons(draw: st.DrawFn) -> Lesson:
    """Lessons in a box with room above it, over charts with plain, altered, slash and absent chords."""
    text = LESSON.format(
        seed=draw(st.integers(0, 999)),
        root=draw(st.sampled_from("ADEGC")),
        kind=draw(st.sampled_from(("minor-pentatonic", "blues", "dorian", "mixolydian", "harmonic-minor"))),
        fret=draw(st.integers(3, 8)),
        sizes=draw(st.sampled_from(("[3]", "[3, 4]", "[2, 3, 5]"))),
        shelf=draw(st.integers(3, 7)),
        chart=draw(st.sampled_from(CHARTS)),
    )
    return read_lesson(text, "x.toml")


def moved(lesson: Lesson, frets: int) -> Lesson:
    """Root, chords and hand some frets higher."""
    degree = Degree.parse(UP[frets])
    bars = tuple(
        replace(
            bar,
            chords=tuple(
                (
                    chord
                    and replace(
                        chord,
                        root=degree.above(chord.root),
                        bass=None if chord.bass is None else degree.above(chord.bass),
                    ),
                    length,
                )
                for chord, length in bar.chords
            ),
        )
        for bar in lesson.chart.bars
    )
    assert lesson.position.fret is not None
    return replace(
        lesson,
        scale=Scale(degree.above(lesson.scale.root), lesson.scale.kind),
        position=replace(lesson.position, fret=lesson.position.fret + frets),
        chart=replace(lesson.chart, bars=bars),
    )


def line(score: Score, down: int = 0) -> list[tuple[object, ...]]:
    """What is played, with pitches and frets so many lower."""
    return [
        (n.onset, n.duration, n.pitch.midi - down, n.place and (n.place.string, n.place.fret - down), n.finger, n.label)
        for n in score.part(PartRole.LEAD).notes
    ]


def taught(planned: LessonPlan) -> list[object]:
    """What a lesson teaches, told without naming a key or a fret."""
    roles = [(one.letter, [note.role for note in one.fit.notes], one.fit.grade) for one in planned.fits]
    shelf = [(item.letter, item.motif.steps, item.motif.degrees_text) for item in planned.shelf.items]
    phrases = [
        (one.bar, one.letter, one.phrase.count, one.reason.interval_semitones) for one in planned.studies[0].phrases
    ]
    return [roles, shelf, phrases, [(exercise.id, exercise.motifs) for exercise in planned.exercises]]


@settings(max_examples=30)
@given(box_lessons(), st.sampled_from(sorted(UP)))
def test_a_transposed_lesson_keeps_degrees_roles_letters_and_counts(lesson: Lesson, frets: int) -> None:
    """Scale, chart and box so many frets higher: everything taught stays, and every fret is so many higher."""
    here, there = plan(lesson), plan(moved(lesson, frets))
    assert [(n.place.string, n.place.fret + frets, n.finger, n.degree, n.cycle) for n in here.position.notes] == [
        (n.place.string, n.place.fret, n.finger, n.degree, n.cycle) for n in there.position.notes
    ]
    assert taught(here) == taught(there)
    for one, other in zip(here.exercises, there.exercises, strict=True):
        assert line(one.score) == line(other.score, frets)
    assert line(here.studies[0].score) == line(there.studies[0].score, frets)

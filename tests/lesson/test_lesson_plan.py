"""Plans: positions found, shelves filled, and wishes refused with their place in the file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lesson_strategies import lessons

import phrasewright.lesson as package
import phrasewright.lesson.plan as planning
from phrasewright.compose.counts import default_counts
from phrasewright.compose.exercise import ExerciseKind
from phrasewright.compose.study import Study
from phrasewright.errors import LessonError
from phrasewright.lesson.model import Lesson
from phrasewright.lesson.plan import LessonPlan, plan
from phrasewright.lesson.read import read_lesson
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest

DEMO = (Path(package.__file__).parent / "demo.toml").read_text(encoding="utf-8")
OPEN = '[lesson]\ntitle = "x"\n[scale]\nroot = "E"\n[position]\nstyle = "open"\n'


def shelf_degrees(text: str) -> list[str]:
    planned = plan(read_lesson(text, "x.toml"), file="x.toml", text=text)
    return [" ".join(str(note.degree) for note in item.motif.notes) for item in planned.shelf.items]


def test_the_demonstration_lesson_is_planned_whole() -> None:
    """Position, shelf, fits, exercises and study are there, and agree with the file."""
    planned = plan(read_lesson(DEMO, "demo.toml"))
    assert planned.position.lowest_fret == 0
    assert [item.letter for item in planned.shelf.items] == list("ABCDEF")
    assert {len(item.motif.steps) for item in planned.shelf.items} == {3, 4}
    chords = planned.lesson.chart.chords
    assert [(fit.letter, fit.chord) for fit in planned.fits] == [(letter, c) for letter in "ABCDEF" for c in chords]
    assert [exercise.kind for exercise in planned.exercises] == list(ExerciseKind)
    assert len(planned.studies[0].score.measures) == 12


def test_the_same_lesson_gives_the_same_plan() -> None:
    """No chance but the seed's, with nothing kept from the plan before."""
    lesson = read_lesson(DEMO, "demo.toml")
    before = plan(lesson)
    for kept in (planning._ladder, planning._composed):
        kept.cache_clear()
    again = plan(lesson)
    assert again.studies[0] is not before.studies[0]
    assert again == before


def test_what_a_change_does_not_touch_is_not_composed_again() -> None:
    """A tempo is nobody's, the dial the studies' own, the space everybody's."""
    first = planned_with()
    tempo = planned_with(("tempos = [60, 75, 90]", "tempos = [50]"))
    dial = planned_with(("[study]", "[study]\ndial = 0.2"))
    space = planned_with(("space = 0.4", "space = 0.6"))
    assert (tempo.exercises, tempo.studies) == (first.exercises, first.studies)
    assert all(one is other for one, other in zip(tempo.composed, first.composed, strict=True))
    assert all(one is other for one, other in zip(dial.exercises, first.exercises, strict=True))
    assert dial.studies != first.studies
    assert space.exercises != first.exercises
    assert space.studies != first.studies


def planned_with(*changes: tuple[str, str]) -> LessonPlan:
    text = DEMO
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return plan(read_lesson(text, "demo.toml"))


@pytest.mark.parametrize(
    ("degrees", "pitches"),
    [
        ("1 b3 4", "E2 G2 A2"),
        ("1 up 5", "E2 B2"),
        ("1 5 1", "E2 B2 E3"),
        ("4 1 b7", "A2 E2 D3"),
        ("5 up b3 down b7", "B2 G3 D3"),
    ],
)
def test_written_degrees_find_their_notes(degrees: str, pitches: str) -> None:
    """The nearest note of each degree; up and down say otherwise."""
    text = f'{OPEN}[[motifs.written]]\ndegrees = "{degrees}"\n'
    planned = plan(read_lesson(text, "x.toml"))
    assert " ".join(str(note.pitch) for note in planned.shelf.items[0].motif.notes) == pitches


def test_a_shelf_is_filled_up_behind_the_written_motifs() -> None:
    """The written one first, then others, none twice."""
    block = '[[motifs.written]]\ndegrees = "1 b3 4"\nname = "mine"\n'
    text = f"{OPEN}[motifs]\nsizes = [3]\nshelf = 5\n{block}"
    found = shelf_degrees(text)
    assert found[0] == "1 b3 4"
    assert len(found) == 5
    assert plan(read_lesson(text, "x.toml")).names == {"A": "mine"}
    assert shelf_degrees(OPEN + block) == ["1 b3 4"]


def test_a_position_no_hand_can_play_is_a_problem_of_its_section() -> None:
    """The message stands at [position], with the nearest that can be played."""
    text = OPEN + "fret = 9\n"
    with pytest.raises(LessonError) as caught:
        plan(read_lesson(text, "x.toml"), file="x.toml", text=text)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column, problem.where) == (5, 1, "position")
    assert "Nearest playable" in problem.hint


def test_a_plan_without_its_text_still_says_what_is_wrong() -> None:
    """Lessons that come from no file have no lines to point to."""
    lesson = read_lesson(OPEN, "x.toml")
    wish = replace(lesson.position, fret=9)
    with pytest.raises(LessonError, match="cannot be moved"):
        plan(replace(lesson, position=wish))


def outcome(lesson: Lesson) -> LessonPlan | None:
    """The plan, or None for a lesson refused with a hint for each problem."""
    try:
        return plan(lesson)
    except LessonError as error:
        hints = [problem.hint for problem in error.problems]
    assert hints
    assert all(hints)
    return None


@settings(max_examples=25)
@given(lessons())
def test_any_lesson_is_planned_or_refused_in_words(lesson: Lesson) -> None:
    """Whatever the instrument and the wish, nothing but LessonError is raised."""
    shelf = replace(lesson.shelf, largest_step=min(2, lesson.shelf.largest_step))
    planned = outcome(replace(lesson, shelf=shelf))
    assert planned is None or planned.position.scale == lesson.scale


@settings(max_examples=15)
@given(lessons(), st.sampled_from([PositionStyle.OPEN, PositionStyle.BOX]))
def test_a_plan_keeps_the_wishes_of_its_lesson(lesson: Lesson, style: PositionStyle) -> None:
    """Sizes, shapes, counts, kinds of exercise and length are those asked for."""
    wish = PositionRequest(style=style)
    shelf = replace(lesson.shelf, largest_step=1, written=(), sizes=lesson.shelf.sizes or (3,))
    counts = {size: default_counts(lesson.meter)[size] for size in shelf.sizes}
    guitar = instrument("guitar")
    planned = outcome(replace(lesson, instrument=guitar, position=wish, shelf=shelf, counts=counts))
    if planned is not None:
        motifs = [item.motif for item in planned.shelf.items]
        assert len(motifs) <= shelf.length
        assert {len(motif.steps) for motif in motifs} <= set(shelf.sizes)
        assert {motif.contour for motif in motifs} <= set(shelf.shapes)
        assert sorted(exercise.kind for exercise in planned.exercises) == sorted(lesson.exercises)
        assert len(planned.studies[0].score.measures) == lesson.study.bars


CHANGING = """
[lesson]
title = "Changing"
[scale]
root = "A"
[position]
style = "box"
fret = 5
{position}
[motifs]
shelf = 5
{motifs}
[band]
chart = "| Am7 | D7 | Am7 | E7 | Am7 | D7 | Am7 | E7 |"
[study]
studies = 2
dial = 0.2
every_motif = false
{study}
"""


def changed(*, position: str = "", motifs: str = "", study: str = "") -> LessonPlan:
    return plan(read_lesson(CHANGING.format(position=position, motifs=motifs, study=study), "changing.toml"))


def test_bars_are_drawn_anew_one_entry_after_the_other() -> None:
    """Phrases outside the bars stay, note for note; another turn gives others; the other study is as it was."""
    first, second = changed().studies
    again, other = changed(study='again = ["study 1: bars 5-8"]').studies
    third, _ = changed(study='again = ["study 1: bars 5-8", "study 1: bars 7-8, turn 2"]').studies
    turned, _ = changed(study='again = ["study 1: bars 5-8, turn 2"]').studies

    def phrases(study: Study, *, before_bar: int) -> list[tuple[int, str, str]]:
        placed = [(one.bar, one.letter, one.phrase.count.text) for one in study.phrases]
        return [phrase for phrase in placed if phrase[0] < before_bar]

    assert phrases(again, before_bar=4) == phrases(first, before_bar=4)
    assert phrases(again, before_bar=8) != phrases(first, before_bar=8)
    assert phrases(third, before_bar=6) == phrases(again, before_bar=6)
    assert phrases(third, before_bar=8) != phrases(again, before_bar=8)
    assert phrases(turned, before_bar=8) != phrases(again, before_bar=8)
    assert other.score == second.score


def test_a_motif_left_out_is_not_chosen_and_one_that_is_not_there_does_no_harm() -> None:
    shelf = changed().shelf
    unwanted = shelf.items[0].motif
    texts = [
        " ".join(str(note.degree) for note in unwanted.notes) + f" cycle {unwanted.notes[0].cycle}",
        "1 b3 4 cycle 8",
    ]
    left = changed(motifs=f"left_out = {texts}".replace("'", '"')).shelf
    assert unwanted.steps not in {item.motif.steps for item in left.items}
    assert len(left.items) == len(shelf.items)


def test_notes_left_out_of_a_position_leave_the_others_as_they_are() -> None:
    whole = changed().position
    part = changed(position='left_out = ["b7 cycle 1", "4"]').position
    gone = [note for note in whole.notes if note not in part.notes]
    assert {(str(note.degree), note.cycle) for note in gone} == {("b7", 1), ("4", 1), ("4", 2), ("4", 3)} & {
        (str(note.degree), note.cycle) for note in whole.notes
    }
    assert set(part.notes) < set(whole.notes)


def test_a_position_keeps_enough_notes_for_a_motif() -> None:
    with pytest.raises(LessonError, match="Too few notes"):
        changed(position='left_out = ["1", "b3", "4", "5", "b7 cycle 1"]')

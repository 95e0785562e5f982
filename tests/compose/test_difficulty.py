"""Difficulty and its parts."""

from __future__ import annotations

from fractions import Fraction

import pytest
from compose_strategies import GUITAR, chart, e_minor, material

from phrasewright.compose.difficulty import by_difficulty, difficulty_of
from phrasewright.compose.exercise import ExerciseKind, lead_score
from phrasewright.compose.ladder import build_ladder
from phrasewright.melody.phrase import score_note
from phrasewright.score.model import Note
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)


def _score(notes: tuple[Note, ...]):
    return lead_score("t", "w", notes, bars=4, chart=chart("E7", FOUR), position=e_minor())


def test_parts_are_what_they_say() -> None:
    """Quarters at 120 are two notes a second; strings, interval and stretch are the line's."""
    position = e_minor()
    notes = tuple(score_note(position.notes[index], Fraction(at), Fraction(1)) for at, index in enumerate((0, 1, 2, 3)))
    found = difficulty_of(_score(notes), 120.0)
    assert found.notes_per_second == pytest.approx(2.0)
    assert found.steady_notes_per_second == pytest.approx(4 / 8.0)  # four bars last eight seconds
    assert found.off_beat == 0.0
    assert [(n.place.string, n.place.fret) for n in notes if n.place] == [(6, 0), (6, 3), (5, 0), (5, 2)]
    assert found.string_changes == pytest.approx(1 / 4)
    assert found.largest_interval_semitones == 3
    assert found.shift_mm == 0.0
    assert found.stretch_mm == pytest.approx(GUITAR.stretch_mm(2, 3))


def test_a_rest_gives_the_hand_time() -> None:
    """Two notes far apart are a leap when they follow each other, and none with a second of rest between."""
    position = e_minor()
    low, high = position.notes[0], position.notes[-1]
    for at, semitones in ((Fraction(3, 2), 27), (Fraction(3), 0)):
        line = (score_note(low, Fraction(0), Fraction(1)), score_note(high, at, Fraction(1)))
        found = difficulty_of(_score(line), 120.0)
        assert found.largest_interval_semitones == semitones
        assert (found.string_changes > 0) == (semitones > 0)
        assert found.off_beat == (0.5 if at.denominator == 2 else 0.0)


def test_the_ladder_climbs_in_two_waves() -> None:
    """Over ten shelves: up to running without rest, relief in space, then the quickest rung above all of them."""
    means = [0.0] * len(ExerciseKind)
    for seed in range(10):
        made = material(sizes=(3, 4), how_many=4 + seed % 3, seed=seed)
        for index, exercise in enumerate(build_ladder(made)):
            means[index] += difficulty_of(exercise.score, 80.0).level / 10
    alone, order, longer, running, space, fast, *_ = means
    assert alone < order < longer < running
    assert space < running
    assert fast == max(means)


def test_nothing_to_play_is_level_zero() -> None:
    """An empty part has no difficulty."""
    assert difficulty_of(_score(()), 90.0).level == 0.0


def test_faster_is_harder() -> None:
    """Twice the tempo doubles the notes per second and raises the level."""
    exercise = build_ladder(material(), (ExerciseKind.OTHER_ORDER,))[0]
    slow, fast = difficulty_of(exercise.score, 60.0), difficulty_of(exercise.score, 120.0)
    assert fast.notes_per_second == pytest.approx(2 * slow.notes_per_second)
    assert fast.level > slow.level


def test_ordering_puts_the_easiest_first() -> None:
    """Levels rise along the order, free choice stands at the end, and nothing is lost."""
    ladder = build_ladder(material())
    ordered = by_difficulty(ladder)
    assert ordered[-1].kind is ExerciseKind.FREE_CHOICE
    levels = [difficulty_of(exercise.score).level for exercise in ordered[:-1]]
    assert levels == sorted(levels)
    assert {exercise.id for exercise in ordered} == {exercise.id for exercise in ladder}

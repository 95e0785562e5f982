"""From a lesson to what is taught: the position found, the shelf filled, exercises and study composed.

A wish that the neck, the hand or the position cannot meet is a problem of the lesson file, shown at the section it
was made in, with the nearest that can be met.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from phrasewright.compose.conflict import RuleConflictError
from phrasewright.compose.difficulty import by_difficulty, difficulty_of
from phrasewright.compose.exercise import Exercise, ExerciseOrder
from phrasewright.compose.ladder import build_ladder
from phrasewright.compose.material import Material
from phrasewright.compose.study import Study, compose_studies, vary_study
from phrasewright.compose.touches import dressed
from phrasewright.errors import LessonError, NeckError, Problem
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import Lesson, StudySpec, WrittenMotif
from phrasewright.lesson.read import index_lesson
from phrasewright.lesson.toml_text import KeyPath
from phrasewright.lesson.written import NotInPositionError, find_written
from phrasewright.melody.fit import Fit, fit_motif
from phrasewright.melody.motif import Motif
from phrasewright.melody.shelf import Shelf, ShelfError, choose_motifs, shelf_of
from phrasewright.neck.place import Position
from phrasewright.neck.search import find_position
from phrasewright.theory.chord import Chord

KEPT = 8

# a lesson that is being worked on is planned again and again: what no change touches is not composed again
_ladder = lru_cache(maxsize=KEPT)(build_ladder)
_composed = lru_cache(maxsize=KEPT)(compose_studies)


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifOverChord:
    """How one motif of the shelf sits on one chord of the chart."""

    letter: str
    chord: Chord
    fit: Fit


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonPlan:
    """All that is taught in a lesson, before it is engraved or played.

    fits: every motif over every chord, by letter, then in the chart's order. names: what the teacher calls a motif,
    by letter, only where named. composed: the studies as composed, before bars of them were drawn anew.
    """

    lesson: Lesson
    position: Position
    shelf: Shelf
    names: dict[str, str]
    fits: tuple[MotifOverChord, ...]
    material: Material
    exercises: tuple[Exercise, ...]
    composed: tuple[Study, ...]
    studies: tuple[Study, ...]


def plan(lesson: Lesson, *, file: str = "lesson", text: str = "") -> LessonPlan:
    """Plan a lesson. file, text: where it was read from, for messages with their place. Raises LessonError."""
    desk = Desk(index_lesson(text))
    position = _position(lesson, file, desk)
    shelf = _shelf(lesson, position, file, desk)
    chords = lesson.chart.chords
    material = Material(
        shelf=shelf,
        chart=lesson.chart,
        counts=lesson.counts,
        space=lesson.space,
        idiom=lesson.shelf.idiom,
        seed=lesson.seed,
        voice=lesson.lead_voice,
    )
    ladder = _ladder(material, lesson.exercises)
    composed = _refusing(lambda: _composed(material, lesson.study.wish), file, desk)
    drawn = _refusing(lambda: _drawn_anew(composed, material, lesson.study), file, desk)
    named = zip(shelf.items, lesson.shelf.written, strict=False)
    return LessonPlan(
        lesson=lesson,
        position=position,
        shelf=shelf,
        names={item.letter: written.name for item, written in named if written.name},
        fits=tuple(
            MotifOverChord(letter=item.letter, chord=chord, fit=fit_motif(item.motif, chord, idiom=lesson.shelf.idiom))
            for item in shelf.items
            for chord in chords
        ),
        material=material,
        exercises=by_difficulty(ladder) if lesson.order is ExerciseOrder.DIFFICULTY else ladder,
        composed=composed,
        studies=tuple(_dressed(study, position, lesson) for study in drawn),
    )


def _refusing(compose: Callable[[], tuple[Study, ...]], file: str, desk: Desk) -> tuple[Study, ...]:
    """Studies, or the problem that their rules cannot be kept together."""
    try:
        return compose()
    except RuleConflictError as error:
        raise _refused(file, desk, ("study",), error.message, error.hint) from None


def _drawn_anew(studies: tuple[Study, ...], material: Material, spec: StudySpec) -> tuple[Study, ...]:
    """The studies after all that is drawn anew in them, one entry after the other."""
    drawn = list(studies)
    for entry in spec.again:
        for number, study in enumerate(drawn):
            if entry.study in (None, number):
                keep = entry.keeps(spec.bars)
                drawn[number] = vary_study(material, spec.wish, study, keep_bars=keep, turn=entry.turn)
    return tuple(drawn)


def _dressed(study: Study, position: Position, lesson: Lesson) -> Study:
    """The study with the techniques that the lesson's lead may use."""
    if not lesson.touches.techniques:
        return study
    score = dressed(study.score, position, lesson.touches, seed=lesson.seed)
    return replace(study, score=score, difficulty=difficulty_of(score))


def _position(lesson: Lesson, file: str, desk: Desk) -> Position:
    try:
        return find_position(lesson.scale, lesson.instrument, lesson.position)
    except NeckError as error:
        hint = error.hint or "Try another style, more strings, a lower fret or a wider stretch."
        raise _refused(file, desk, ("position",), error.message, hint) from None


def _refused(file: str, desk: Desk, path: KeyPath, message: str, hint: str) -> LessonError:
    """One problem at a section; at the scale when the section is not written, else at the beginning."""
    spot = desk.index.key(path) or desk.index.key(("scale",))
    line, column = (spot.line, spot.column) if spot else (1, 1)
    problem = Problem(what=message.rstrip("."), hint=hint, where=str(path[0]), line=line, column=column)
    return LessonError(file, (problem,))


def _shelf(lesson: Lesson, position: Position, file: str, desk: Desk) -> Shelf:
    wish, chords = lesson.shelf, lesson.chart.chords
    motifs = _written(wish.written, position, desk)
    if desk.problems:
        raise LessonError(file, desk.in_order())
    wanted = wish.length - len(motifs)
    unwanted = tuple(found for found in map(partial(_there, position), wish.left_out) if found is not None)
    if wish.sizes and wanted > 0:
        try:
            motifs += choose_motifs(
                position,
                sizes=wish.sizes,
                contours=wish.shapes,
                cycles=wish.cycles or None,
                how_many=wanted,
                chords=chords,
                idiom=wish.idiom,
                largest_step=wish.largest_step,
                seed=lesson.seed,
                beside=motifs,
                left_out=unwanted,
            )
        except ShelfError as error:
            raise _refused(file, desk, ("motifs",), error.message, error.hint) from None
    return shelf_of(position, motifs, chords=chords, idiom=wish.idiom)


def _written(wishes: tuple[WrittenMotif, ...], position: Position, desk: Desk) -> list[Motif]:
    motifs = []
    for number, written in enumerate(wishes):
        try:
            motifs.append(find_written(written, position))
        except NotInPositionError as error:
            path = ("motifs", "written", number, "degrees")
            cycles = sorted({note.cycle for note in position.notes})
            inside = "; ".join(f"cycle {cycle}: {_degrees(position, cycle)}" for cycle in cycles)
            desk.wrong_value(path, f'"{written.text}": {error}', f"The position has {inside}.")
    return motifs


def _there(position: Position, written: WrittenMotif) -> Motif | None:
    """A motif in the position; None where it has not all the notes, as after a move along the neck."""
    try:
        return find_written(written, position)
    except NotInPositionError:
        return None


def _degrees(position: Position, cycle: int) -> str:
    return " ".join(str(note.degree) for note in position.notes if note.cycle == cycle)

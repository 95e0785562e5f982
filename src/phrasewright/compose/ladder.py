"""The ladder: exercises from the shelf in rising order, each looping over whole choruses of the chart."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from fractions import Fraction
from math import ceil

from phrasewright.compose.cells import lay
from phrasewright.compose.exercise import Exercise, ExerciseKind, lead_score, loop_bars
from phrasewright.compose.material import Material
from phrasewright.compose.rungs import (
    Rung,
    each_alone,
    faster,
    list_words,
    long_then_short,
    longer,
    other_order,
    spaced_letters,
)
from phrasewright.compose.running import running_notes
from phrasewright.compose.study import compose_study
from phrasewright.compose.targets import target_notes
from phrasewright.compose.wish import StudyWish
from phrasewright.score.model import Note, PartRole

SPACE_AGAIN = Fraction(3, 5)  # least silence of the rung that comes after running: more than half (our design)

_RUNGS: dict[ExerciseKind, Callable[[Material], Rung]] = {
    ExerciseKind.EACH_ALONE: each_alone,
    ExerciseKind.OTHER_ORDER: other_order,
    ExerciseKind.LONGER: longer,
    ExerciseKind.TWICE_AS_FAST: faster,
    ExerciseKind.LONG_THEN_SHORT: long_then_short,
}


def build_ladder(material: Material, kinds: Collection[ExerciseKind] = tuple(ExerciseKind)) -> tuple[Exercise, ...]:
    """The wished rungs in their rising order, one exercise each, over the bars of the chart's own meter."""
    material = material.even()
    return tuple(_build(kind, material) for kind in ExerciseKind if kind in kinds)


def _build(kind: ExerciseKind, material: Material) -> Exercise:
    if kind in _RUNGS:
        rung = _RUNGS[kind](material)
        bars = loop_bars(sum(cell.bars for cell in rung.cells), material.chart)
        return _exercise(kind, material, rung.title, rung.words, lay(rung.cells, bars, material.meter), bars)
    if kind is ExerciseKind.RUNNING:
        return _running(material)
    return _with_space(material) if kind is ExerciseKind.WITH_SPACE else _free_choice(material)


def _running(material: Material) -> Exercise:
    notes = sum(len(item.motif.steps) for item in material.shelf.items)
    bars = loop_bars(ceil(notes / material.meter.upper) + 1, material.chart)  # every motif once, and the last note
    words = (
        f"No rest at all: {spaced_letters(material.shelf.items)}, round and round, one note on every count. "
        "Hold the long note at the end. Stop sooner if the hand tires."
    )
    return _exercise(ExerciseKind.RUNNING, material, "Running", words, running_notes(material, bars), bars)


def _with_space(material: Material) -> Exercise:
    bars = loop_bars(8, material.chart)
    roomy = replace(material, space=max(material.space, SPACE_AGAIN), seed=material.seed + 1)
    study = compose_study(roomy, StudyWish(bars=bars))
    notes = study.score.part(PartRole.LEAD).notes
    silent = _silence_percent(notes, bars, material)
    used = [item for item in material.shelf.items if item.letter in study.motifs]
    who = f"{list_words(used)}, each where it suits the chord" if used else "Nothing but rest"
    words = f"{who}, and {silent} per cent silence. Count through the rests and listen to the band in them."
    return _exercise(ExerciseKind.WITH_SPACE, material, "Space again", words, notes, bars)


def _free_choice(material: Material) -> Exercise:
    bars = loop_bars(8, material.chart)
    words = (
        f"The empty bars are yours: play any of {list_words(material.shelf.items)}, or nothing. "
        "Be back in time to land on the written note; it belongs to the chord."
    )
    notes = target_notes(material, bars)
    return _exercise(ExerciseKind.FREE_CHOICE, material, "Your choice, landings given", words, notes, bars)


def _exercise(
    kind: ExerciseKind, material: Material, title: str, words: str, notes: Iterable[Note], bars: int
) -> Exercise:
    notes = tuple(notes)
    letters = tuple(item.letter for item in material.shelf.items)
    used = dict.fromkeys(note.label.rstrip("′") for note in notes if note.label.rstrip("′") in letters)
    return Exercise(
        id=str(kind),
        title=title,
        words=words,
        kind=kind,
        score=lead_score(
            title,
            words,
            notes,
            bars=bars,
            chart=material.chart,
            position=material.position,
            voice=material.voice,
        ),
        motifs=letters if kind is ExerciseKind.FREE_CHOICE else tuple(used),
    )


def _silence_percent(notes: Iterable[Note], bars: int, material: Material) -> int:
    """Whole per cent of the bars that is silent, rounded down."""
    sounding = sum((note.duration for note in notes), Fraction(0))
    return int(100 * (1 - sounding / (bars * material.meter.bar)))

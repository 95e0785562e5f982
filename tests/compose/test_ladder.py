"""The ladder: every rung playable, looping, labelled and said in words."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from compose_strategies import BLUES, METERS, chart, check_lead, e_minor, material, materials, silence
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.compose.difficulty import difficulty_of
from phrasewright.compose.exercise import Exercise, ExerciseKind, loop_bars
from phrasewright.compose.ladder import build_ladder
from phrasewright.compose.material import Material
from phrasewright.compose.study import compose_study
from phrasewright.compose.wish import StudyWish
from phrasewright.melody.fit import note_fit
from phrasewright.melody.shelf import shelf_of
from phrasewright.score.model import PartRole
from phrasewright.theory.count import parse_count
from phrasewright.theory.meter import Meter
from written_motifs import motif_from_text

FOUR = Meter(4, 4)
MADE = material()


def _one(made: Material, kind: ExerciseKind) -> Exercise:
    return build_ladder(made, (kind,))[0]


def _notes(exercise: Exercise):
    return exercise.score.part(PartRole.LEAD).notes


def _own(*texts: str, counts: dict[int, str] | None = None, symbols: str = "E7 E7 E7 E7") -> Material:
    tune = chart(symbols, FOUR)
    read = {size: (parse_count(text, FOUR),) for size, text in (counts or {}).items()}
    shelf = shelf_of(e_minor(), [motif_from_text(e_minor(), text) for text in texts], chords=tune.chords)
    return Material(shelf=shelf, chart=tune, counts=read)


@settings(max_examples=20)
@given(materials())
def test_every_rung_is_sound(made: Material) -> None:
    """In any meter, scale, chart and space: monophonic, in the position, bars full, whole choruses, words said."""
    for exercise in build_ladder(made):
        check_lead(exercise.score, made.position)
        bars = len(exercise.score.measures)
        assert bars >= 4
        assert bars % len(made.chart.bars) == 0
        assert exercise.score.words == exercise.words
        assert exercise.words.endswith(".")
        assert len(exercise.words) < 320
        letters = {item.letter for item in made.shelf.items}
        assert set(exercise.motifs) <= letters


@settings(max_examples=20)
@given(materials())
def test_space_is_kept_where_it_is_meant(made: Material) -> None:
    """All rungs but running and joined ones over one loop keep at least the wished share of silence."""
    for exercise in build_ladder(made, tuple(set(ExerciseKind) - {ExerciseKind.RUNNING, ExerciseKind.FREE_CHOICE})):
        assert silence(exercise.score) >= made.space


@settings(max_examples=20)
@given(materials())
def test_running_has_no_rest(made: Material) -> None:
    """Without rest means without: the notes fill the loop, and every motif comes at least once."""
    exercise = _one(made, ExerciseKind.RUNNING)
    assert silence(exercise.score) == 0
    assert exercise.motifs == tuple(item.letter for item in made.shelf.items)


@settings(max_examples=20)
@given(materials())
def test_landings_are_chord_tones(made: Material) -> None:
    """In free choice every given note is a tone of the chord under it, on the first beat of its bar."""
    exercise = _one(made, ExerciseKind.FREE_CHOICE)
    for note in _notes(exercise):
        chord = exercise.score.chord_at(note.onset)
        assert chord is not None
        assert note_fit(note.pitch, chord, None, scale=made.position.scale).role.is_chord_tone
        assert note.onset % made.meter.bar == 0
        assert note.label
    assert exercise.motifs == tuple(item.letter for item in made.shelf.items)


def test_landings_change() -> None:
    """No two landings in a row are the same note, and over a chorus there are three roles or more."""
    notes = _notes(_one(MADE, ExerciseKind.FREE_CHOICE))
    assert all(a.pitch != b.pitch for a, b in pairwise(notes))
    assert len({note.label for note in notes}) >= 3


def test_space_again_is_not_the_study() -> None:
    """After running comes more silence than sound, and other phrases than in the study."""
    exercise = _one(MADE, ExerciseKind.WITH_SPACE)
    assert silence(exercise.score) >= Fraction(3, 5)
    assert _notes(exercise) != compose_study(MADE, StudyWish(bars=12)).score.part(PartRole.LEAD).notes


def test_rungs_come_in_rising_order_once_each() -> None:
    """Whatever order they are wished in, the ladder keeps its own; ids are unique."""
    made = material()
    ladder = build_ladder(made, tuple(reversed(ExerciseKind)))
    assert [exercise.kind for exercise in ladder] == list(ExerciseKind)
    assert len({exercise.id for exercise in ladder}) == len(ladder)
    assert len({exercise.title for exercise in ladder}) == len(ladder)


def test_each_alone_leaves_a_bar_empty() -> None:
    """Motif bar, empty bar, twice each while the shelf is small; the letter stands over each first note."""
    exercise = _one(_own("1 b3 4", "4 5"), ExerciseKind.EACH_ALONE)
    assert [(note.onset // 4, note.label) for note in _notes(exercise) if note.label] == [
        (0, "A"),
        (2, "A"),
        (4, "B"),
        (6, "B"),
    ]
    assert {int(note.onset // 4) % 2 for note in _notes(exercise)} == {0}
    assert "A and B" in exercise.words


@given(st.integers(0, 500))
def test_another_order_is_another(seed: int) -> None:
    """The drawn order is never the shelf's, and is named in the words."""
    made = replace(MADE, seed=seed)
    exercise = _one(made, ExerciseKind.OTHER_ORDER)
    order = list(dict.fromkeys(note.label for note in _notes(exercise) if note.label))
    assert sorted(order) == [item.letter for item in made.shelf.items]
    assert order != sorted(order)
    assert " ".join(order) in exercise.words


def test_two_joined_leave_no_gap_between() -> None:
    """A 1 b3 4 and B 5 b7 make five even eighths; the second begins where the first ends."""
    exercise = _one(_own("1 b3 4", "5 b7"), ExerciseKind.LONGER)
    first = _notes(exercise)[:5]
    assert [note.onset for note in first] == [Fraction(n, 2) for n in range(5)]
    assert [note.label for note in first] == ["A", "", "", "B", ""]
    assert "A into B" in exercise.words


def test_twice_as_fast_follows_the_slow_bar() -> None:
    """1 2 3 in one bar, the same notes in half the time in the next."""
    exercise = _one(_own("1 b3 4", counts={3: "1 2 3"}), ExerciseKind.TWICE_AS_FAST)
    slow, fast = _notes(exercise)[:3], _notes(exercise)[3:6]
    assert [note.onset for note in slow] == [0, 1, 2]
    assert [note.onset for note in fast] == [4, Fraction(9, 2), 5]
    assert [note.pitch for note in slow] == [note.pitch for note in fast]


def test_what_cannot_be_spoken_twice_as_fast_runs_evenly() -> None:
    """Triplets have no half: the motif is given in even notes, then twice as fast."""
    exercise = _one(_own("1 b3 4", counts={3: "1 trip let"}), ExerciseKind.TWICE_AS_FAST)
    onsets = [note.onset for note in _notes(exercise)[:6]]
    assert onsets == [0, 1, 2, 4, Fraction(9, 2), 5]


def test_long_long_short() -> None:
    """The long motif twice, the short one once, then rest."""
    exercise = _one(_own("1 b3 4 5", "1 b3"), ExerciseKind.LONG_THEN_SHORT)
    labels = [note.label for note in _notes(exercise) if note.label]
    assert labels[:3] == ["A", "A", "B"]
    assert "A A B" in exercise.words


def test_one_size_shortens_itself() -> None:
    """When all motifs are as long as each other, the short one is the first two notes, marked with a prime."""
    exercise = _one(_own("1 b3 4", "4 5 b7"), ExerciseKind.LONG_THEN_SHORT)
    labels = [note.label for note in _notes(exercise) if note.label]
    assert labels[:6] == ["A", "A", "A′", "B", "B", "B′"]
    assert "the first two notes only" in exercise.words
    assert exercise.motifs == ("A", "B")


@pytest.mark.parametrize(
    ("needed", "chorus", "bars"),
    [(3, 1, 4), (5, 1, 5), (3, 5, 5), (9, 8, 16), (10, 12, 12), (13, 12, 24), (3, 32, 4), (7, 32, 8), (9, 32, 32)],
)
def test_loops_are_whole_choruses(needed: int, chorus: int, bars: int) -> None:
    """Whole choruses of charts up to 16 bars; 4 or 8 bars of a longer one where they are enough."""
    assert loop_bars(needed, chart(" ".join(["E7"] * chorus), FOUR)) == bars


def test_twice_as_fast_is_harder_than_alone() -> None:
    """The level of the quick rung lies above that of the first."""
    alone, fast = build_ladder(MADE, (ExerciseKind.EACH_ALONE, ExerciseKind.TWICE_AS_FAST))
    assert difficulty_of(fast.score, 80.0).level > difficulty_of(alone.score, 80.0).level


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_the_same_seed_gives_the_same_ladder(meter: Meter) -> None:
    """Same material, same scores; another seed may differ."""
    assert build_ladder(material(meter=meter, seed=4)) == build_ladder(material(meter=meter, seed=4))


def test_space_outside_its_range_is_refused() -> None:
    """Space is a share of the time, up to nine tenths."""
    for space in (Fraction(-1, 10), Fraction(1)):
        with pytest.raises(ValueError, match="space"):
            material(symbols=BLUES, space=space)

"""Motifs written by degree."""

from __future__ import annotations

import pytest
from hypothesis import given
from melody_strategies import motifs, open_a_minor

from phrasewright.melody.degrees import MotifTextError, motif_from_degrees, motif_from_text
from phrasewright.theory.interval import Degree

POSITION = open_a_minor()


@pytest.mark.parametrize(
    ("text", "cycle", "steps"),
    [
        ("1 b3 4", 1, (0, 1, 2)),
        ("1 b3 4", 2, (5, 6, 7)),
        ("5 b7 1", 1, (3, 4, 5)),
        ("1 b7", 2, (5, 4)),
        ("1 ♭3", 1, (0, 1)),
        ("1 _4", 2, (5, 2)),
        ("1 ^5", 2, (5, 8)),
        ("1 ^1", 1, (0, 5)),
    ],
)
def test_degrees_are_found_near_each_other(text: str, cycle: int, steps: tuple[int, ...]) -> None:
    """The first in its cycle, every other nearest to the one before, or above and below where a sign says so."""
    assert motif_from_text(POSITION, text, cycle).steps == steps


def test_degrees_as_values() -> None:
    """Degree values read as their words do."""
    assert motif_from_degrees(POSITION, (Degree(1), Degree(3, -1))).steps == (0, 1)


@pytest.mark.parametrize(
    ("text", "cycle", "word", "message"),
    [
        ("1 3 4", 1, "3", "3 is not in A minor pentatonic, open position"),
        ("1 b3 4", 4, "1", "cycle 4 of A minor pentatonic, open position has no 1"),
        ("1 x", 1, "x", "'x' is not a degree"),
        ("1", 1, "", "2 to 5 notes, this one has 1"),
        ("1 1 1 1 1 1", 1, "", "this one has 6"),
        ("", 1, "", "this one has 0"),
        ("1 _b7", 1, "_b7", "no ♭7 below its 1"),
    ],
)
def test_errors_name_the_culprit(text: str, cycle: int, word: str, message: str) -> None:
    """What is wrong, which word it is, and how to mend it."""
    with pytest.raises(MotifTextError) as caught:
        motif_from_text(POSITION, text, cycle)
    assert message in str(caught.value)
    assert caught.value.word == word
    assert caught.value.hint.endswith(".")


@given(motifs())
def test_a_motif_survives_being_written_with_signs(motif) -> None:
    """Stepwise motifs written as degrees with their directions come back."""
    if any(abs(move) != 1 for move in motif.moves):
        return
    words = [str(motif.notes[0].degree)]
    for move, note in zip(motif.moves, motif.notes[1:], strict=True):
        words.append(f"{'^' if move > 0 else '_'}{note.degree}")
    assert motif_from_degrees(motif.position, words, motif.notes[0].cycle).steps == motif.steps

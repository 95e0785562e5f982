"""Temperley's melody model and Schellenberg's reversal, against published values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.melody.join import (
    ESSEN_MAJOR,
    LineModel,
    join_bits,
    next_pitch_probability,
    reversal,
    surprise_bits,
)
from phrasewright.theory.pitch import Pitch

C_MAJOR = LineModel(profile=ESSEN_MAJOR)
PITCHES = st.integers(36, 96)


@pytest.mark.parametrize(
    ("previous", "pitch", "expected"),
    [
        ("B4", "C5", 0.3414),
        ("B4", "G4", 0.1815),
        ("B4", "A4", 0.1522),
        ("B4", "B4", 0.1234),
        ("B4", "D5", 0.1169),
        ("B4", "Bb4", 0.0091),
        ("B4", "G5", 0.0008),
        ("C4", "D4", 0.2894),
        ("C4", "C4", 0.2799),
        ("C4", "E4", 0.2188),
        ("C4", "G4", 0.0321),
    ],
)
def test_conditional_probabilities(previous: str, pitch: str, expected: float) -> None:
    """Temperley 2007, range variance 29, proximity 7.2, centre 68, C major: to four decimals (docs/sources.md 3.3)."""
    found = next_pitch_probability(Pitch.parse(pitch).midi, Pitch.parse(previous).midi, C_MAJOR)
    assert round(found, 4) == expected


@given(PITCHES)
def test_probabilities_sum_to_one(previous: int) -> None:
    """Whatever came before, something comes next."""
    for model in (C_MAJOR, LineModel()):
        total = sum(next_pitch_probability(pitch, previous, model) for pitch in range(128))
        assert total == pytest.approx(1.0)


@given(st.integers(1, 11))
def test_a_wider_leap_is_a_bigger_surprise(size: int) -> None:
    """From the centre of the line, each semitone farther costs more bits, up and down alike."""
    model = LineModel()
    for sign in (1, -1):
        assert surprise_bits(68 + sign * (size + 1), 68, model) > surprise_bits(68 + sign * size, 68, model)


@pytest.mark.parametrize(
    ("pitches", "expected"),
    [
        ((60, 69, 67), 1.0),
        ((60, 69, 71), -1.0),
        ((60, 69, 60), 2.5),
        ((60, 64, 62), 1.5),
        ((60, 64, 67), 0.0),
        ((60, 66, 68), 0.0),
        ((60, 69, 69), 0.0),
    ],
)
def test_pitch_reversal(pitches: tuple[int, int, int], expected: float) -> None:
    """Direction part after more than six semitones, return part within two; from -1 to 2.5 (docs/sources.md 3.4)."""
    assert reversal(*pitches) == expected


def test_turning_back_after_a_leap_costs_less() -> None:
    """The reversal factor counts half, beside the surprise (docs/sources.md 12b)."""
    model = LineModel(centre_midi=66)
    plain = join_bits([71], 67, model)
    assert join_bits([60, 71], 67, model) == pytest.approx(plain - 0.5)
    assert join_bits([60, 71], 75, model) == pytest.approx(join_bits([71], 75, model) + 0.5)


def test_a_join_needs_a_note_before_it() -> None:
    """The opening of a piece joins nothing."""
    with pytest.raises(ValueError, match="before"):
        join_bits([], 60, LineModel())

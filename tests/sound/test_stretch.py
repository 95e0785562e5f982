"""Tempo without pitch: onsets stay on the beat map, strokes stay strokes, pitch stays pitch."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, cents_off

from phrasewright.sound.stretch import stretched

SPEEDS = (0.5, 0.67, 0.8, 0.95, 1.1, 1.25, 1.5)
STROKE = (np.sin(2 * np.pi * 1800 * np.arange(2205) / RATE) * np.exp(-np.arange(2205) / 400)).astype(np.float32)


def strokes(times_s: np.ndarray, length_s: float) -> np.ndarray:
    audio = np.zeros(int(length_s * RATE), dtype=np.float32)
    for time_s in times_s:
        at = round(time_s * RATE)
        audio[at : at + len(STROKE)] += 0.5 * STROKE
    return audio


def onset_and_rise_s(audio: np.ndarray, around_s: float) -> tuple[float, float]:
    """When the level first passes half of its top near a time, and how long it takes from a tenth to there."""
    first = round((around_s - 0.1) * RATE)
    level = np.abs(audio[first : first + round(0.2 * RATE)])
    tenth, half = (int(np.argmax(level > share * level.max())) for share in (0.1, 0.5))
    return (first + half) / RATE, (half - tenth) / RATE


@pytest.mark.parametrize("speed", SPEEDS)
def test_onsets_lie_within_5_ms_and_stay_sharp(speed: float) -> None:
    times_s = 0.5 + 0.5 * np.arange(18)
    found = stretched(strokes(times_s, 10.0), RATE, speed)
    assert len(found) == round(10.0 * RATE / speed)
    for time_s in times_s:
        onset_s, rise_s = onset_and_rise_s(found, time_s / speed)
        assert onset_s == pytest.approx(time_s / speed, abs=0.005)
        assert rise_s < 0.010


@pytest.mark.parametrize("speed", [0.6, 1.4])
def test_pitch_stays(speed: float) -> None:
    """Within 2 cents: half of what a listener can tell (docs/sources.md)."""
    tone = (0.4 * np.sin(2 * np.pi * 440 * np.arange(5 * RATE) / RATE)).astype(np.float32)
    assert abs(cents_off(stretched(tone, RATE, speed), 69, skip_s=0.5)) < 2.0


@settings(max_examples=15)
@given(st.floats(0.5, 2.0), st.integers(1, 3), st.booleans())
def test_lengths_follow_the_speed(speed: float, seconds: int, is_stereo: bool) -> None:
    audio = np.zeros((seconds * 8_000, 2) if is_stereo else seconds * 8_000, dtype=np.float32)
    found = stretched(audio, 8_000, speed)
    assert found.shape[1:] == audio.shape[1:]
    assert len(found) in (round(len(audio) / speed), len(audio))


def test_speeds_that_are_no_music_are_refused() -> None:
    for speed in (0.49, 2.01):
        with pytest.raises(ValueError, match="a speed lies in"):
            stretched(np.zeros(1000, dtype=np.float32), RATE, speed)


def test_its_own_speed_is_left_alone() -> None:
    audio = strokes(np.array([0.2]), 1.0)
    assert stretched(audio, RATE, 1.0) is audio

"""The kit: each piece in its own band and length, harder is louder and brighter."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, band_share, centroid_hz, fall_time_s, onset_samples, rms

from phrasewright.score.model import Drum
from phrasewright.sound.drums import stroke

# piece, spectral middle in Hz (low, high), time to fall 30 dB in s (low, high); ranges: common practice
CHARACTER = [
    (Drum.KICK, (40, 400), (0.08, 0.40)),
    (Drum.SNARE, (1500, 7000), (0.06, 0.30)),
    (Drum.GHOST, (1500, 6500), (0.04, 0.25)),
    (Drum.SIDE_STICK, (900, 4500), (0.015, 0.12)),
    (Drum.CLOSED_HAT, (6000, 12_000), (0.02, 0.12)),
    (Drum.PEDAL_HAT, (4500, 11_000), (0.02, 0.12)),
    (Drum.OPEN_HAT, (6000, 12_000), (0.20, 0.90)),
    (Drum.RIDE, (2000, 8000), (0.7, 2.5)),
    (Drum.RIDE_BELL, (900, 5000), (0.6, 2.5)),
    (Drum.CRASH, (3500, 9000), (0.6, 2.5)),
    (Drum.HIGH_TOM, (140, 500), (0.15, 0.6)),
    (Drum.MID_TOM, (100, 400), (0.15, 0.7)),
    (Drum.LOW_TOM, (70, 350), (0.2, 0.8)),
    (Drum.SHAKER, (5000, 11_000), (0.03, 0.15)),
    (Drum.CLICK, (700, 3000), (0.015, 0.1)),
]


def test_every_piece_has_its_row():
    """No drum is forgotten."""
    assert {row[0] for row in CHARACTER} == set(Drum)


@pytest.mark.parametrize(("drum", "middle_hz", "fall_s"), CHARACTER)
def test_character(drum, middle_hz, fall_s):
    """Each piece lies in its band and dies away in its time."""
    sound = stroke(drum, 0.8, sample_rate=RATE)
    assert middle_hz[0] < centroid_hz(sound) < middle_hz[1]
    assert fall_s[0] < fall_time_s(sound, 30.0) < fall_s[1]


@pytest.mark.parametrize("drum", Drum)
def test_harder_is_louder_and_starts_on_time(drum):
    """Level rises with velocity; the stroke speaks within a millisecond (a shaker within two)."""
    strokes = [stroke(drum, velocity, sample_rate=RATE) for velocity in (0.2, 0.4, 0.6, 0.8, 1.0)]
    levels = [rms(s[: int(0.05 * RATE)]) for s in strokes]
    assert all(b > 1.2 * a for a, b in itertools.pairwise(levels))
    assert onset_samples(strokes[3]) < (0.002 if drum in (Drum.SHAKER, Drum.PEDAL_HAT) else 0.001) * RATE


@pytest.mark.parametrize("drum", [Drum.KICK, Drum.SNARE, Drum.CLOSED_HAT, Drum.RIDE, Drum.CRASH, Drum.LOW_TOM])
def test_harder_is_brighter(drum):
    """A hard stroke has the higher spectral middle."""
    soft, hard = (np.mean([centroid_hz(stroke(drum, v, sample_rate=RATE, seed=s)) for s in range(3)]) for v in (0.3, 1))
    assert hard > soft


@pytest.mark.parametrize("drum", Drum)
@given(velocity=st.floats(0.02, 1.0), seed=st.integers(0, 50))
@settings(max_examples=3)
def test_any_stroke_is_clean(drum, velocity, seed):
    """Any stroke is finite, unclipped, starts at silence, ends at silence, and repeats exactly."""
    sound = stroke(drum, velocity, sample_rate=RATE, seed=seed)
    assert np.isfinite(sound).all()
    assert np.abs(sound).max() < 1.6
    assert sound[0] == 0.0
    assert abs(sound[-1]) < 1e-3 * np.abs(sound).max()
    assert np.array_equal(sound, stroke(drum, velocity, sample_rate=RATE, seed=seed))


@pytest.mark.parametrize("drum", Drum)
def test_round_robin_varies_a_little(drum):
    """Another seed gives another stroke of nearly the same loudness."""
    one, other = (stroke(drum, 0.8, sample_rate=RATE, seed=seed) for seed in (0, 1))
    size = min(len(one), len(other))
    assert not np.array_equal(one[:size], other[:size])
    assert abs(20 * np.log10(rms(one[:size]) / rms(other[:size]))) < 1.5


def test_kick_is_low_and_hat_is_high():
    """The kick keeps most of its energy under 200 Hz, the hat over 4 kHz: they do not mask each other."""
    assert band_share(stroke(Drum.KICK, 0.8, sample_rate=RATE), 0, 200) > 0.8
    assert band_share(stroke(Drum.CLOSED_HAT, 0.8, sample_rate=RATE), 4000, 20_000) > 0.8


def test_the_accented_click_is_higher():
    """The count-in tells the first beat by pitch as well as by level."""
    accent, beat = (stroke(Drum.CLICK, velocity, sample_rate=RATE) for velocity in (1.0, 0.7))
    assert centroid_hz(accent) > 1.15 * centroid_hz(beat)

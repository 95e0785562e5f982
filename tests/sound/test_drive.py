"""The driven amplifier: no false tones, more sustain, bent more by hard strokes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, band_share, cents_off, fall_db_per_s, rms

from phrasewright.sound import drive, strings


def play(pitch, duration_s=2.0, velocity=0.8, tone=strings.DRIVEN):
    return strings.pluck(tone, pitch, duration_s, velocity, sample_rate=RATE)


@pytest.mark.parametrize("pitch", [40, 52, 64, 76, 88])
def test_what_folds_back_is_60_db_under_the_note(pitch, monkeypatch):
    """The same note bent at sixteen times the rate, where nothing folds back, differs by less than -60 dB."""
    ours = play(pitch, velocity=1.0).astype(np.float64)
    monkeypatch.setattr(drive, "OVERSAMPLING", 16)
    clean = play(pitch, velocity=1.0).astype(np.float64)
    length = min(len(ours), len(clean))
    assert rms(ours[:length] - clean[:length]) < 1e-3 * rms(clean)


@given(pitch=st.integers(40, 88), velocity=st.floats(0.3, 1.0), held_s=st.floats(0.8, 2.0))
@settings(max_examples=20, deadline=None)
def test_a_driven_note_is_in_tune(pitch, velocity, held_s):
    """Any note over the neck is within 2 cents, soft or hard."""
    assert abs(cents_off(play(pitch, held_s, velocity), pitch, length_s=held_s - 0.1)) < 2.0


@pytest.mark.parametrize("pitch", [40, 52, 64, 76])
def test_a_driven_note_sings_on(pitch):
    """It loses less than two thirds of what the clean one loses in a second."""
    driven, clean = play(pitch), play(pitch, tone=strings.ELECTRIC)
    assert 0.0 < fall_db_per_s(driven, 0.2, 1.8) < 0.67 * fall_db_per_s(clean, 0.2, 1.8)


def test_hard_strokes_are_bent_more():
    """The share of what lies over four times the pitch grows with the stroke's force."""
    soft, hard = (band_share(play(64, 1.0, v), 1400.0, 6000.0) for v in (0.3, 1.0))
    assert hard > 1.2 * soft


@given(gain=st.floats(0.5, 20.0), offset=st.floats(0.0, 0.5))
def test_level_is_kept_whatever_the_gain(gain, offset):
    """Noise as strong as a stroke comes out of the curve as strong as it went in."""
    rough = np.random.default_rng(5).standard_normal(200_000) * drive.STRING_RMS
    bent = np.tanh(gain * rough + offset) / drive.level_after(gain, offset)
    assert np.std(bent) == pytest.approx(drive.STRING_RMS, rel=0.02)

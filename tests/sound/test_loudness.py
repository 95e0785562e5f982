"""Loudness: the recommendation's own figures, another program's readings, and sums read off their parts."""

from __future__ import annotations

import math

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE

from phrasewright.score.model import PartRole
from phrasewright.sound.loudness import k_filters, loudness_lufs
from phrasewright.sound.mix import mix_stems
from phrasewright.units import amplitude_from_db


def sine(frequency_hz, peak, length_s=4.0, rate=RATE):
    return (peak * np.sin(2 * np.pi * frequency_hz * np.arange(int(length_s * rate)) / rate)).astype(np.float32)


def music(seed, length_s, channels):
    """Noise in several colours that comes, dies away and falls silent, float32 (n, channels)."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE)) / RATE
    rough = np.cumsum(rng.standard_normal((len(time_s), channels)), axis=0)
    rough = rough - np.concatenate((np.zeros((40, channels)), rough[:-40]))
    level = np.exp(-rng.uniform(1.0, 12.0) * (time_s % rng.uniform(0.3, 1.5))) * (
        np.sin(time_s * rng.uniform(0.2, 2)) > -0.7
    )
    return (0.02 * rough * level[:, None] + 1e-4 * rng.standard_normal(rough.shape)).astype(np.float32)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_full_scale_sine(rate):
    """997 Hz in one channel reads -3.01 LKFS (ITU-R BS.1770-4, annex 1)."""
    assert loudness_lufs(sine(997.0, 1.0, rate=rate), rate) == pytest.approx(-3.01, abs=0.01)


def test_two_channels():
    """The same sine at -20 dBFS in both channels reads -20.0 (docs/sources.md: measured with the same filters)."""
    one = sine(997.0, 0.1)
    assert loudness_lufs(np.stack((one, one), axis=1), RATE) == pytest.approx(-20.0, abs=0.02)


def test_filters_are_those_of_the_recommendation():
    """Coefficients at 48 kHz: tables 1 and 2 of ITU-R BS.1770-4."""
    (shelf, shelf_poles), (highpass, highpass_poles) = k_filters(48_000)
    assert shelf == pytest.approx([1.53512485958697, -2.69169618940638, 1.19839281085285], abs=1e-9)
    assert shelf_poles == pytest.approx([1.0, -1.69065929318241, 0.73248077421585], abs=1e-9)
    assert highpass == pytest.approx([1.0, -2.0, 1.0])
    assert highpass_poles == pytest.approx([1.0, -1.99004745483398, 0.99007225036621], abs=1e-9)


@given(
    seed=st.integers(0, 10_000),
    length_s=st.floats(0.41, 9.0),
    channels=st.integers(1, 2),
    rate=st.sampled_from([RATE, 48_000]),
)
@settings(max_examples=25, deadline=None)
def test_another_program_reads_the_same(seed, length_s, channels, rate):
    """pyloudnorm with its filters after De Man reads the same within 0.01 LU, gates included."""
    audio = music(seed, length_s, channels)
    if len(audio) < 0.41 * rate:
        return
    theirs = pyloudnorm.Meter(rate, filter_class="DeMan").integrated_loudness(audio.astype(np.float64))
    assert loudness_lufs(audio, rate) == pytest.approx(theirs, abs=0.01)


def test_both_gates_are_heard():
    """Quiet stretches 30 LU under the music, and silence, do not change its loudness (BS.1770-4, gating)."""
    loud = sine(997.0, 0.1, 8.0)
    quiet = sine(997.0, 0.1 * 10 ** (-30 / 20), 8.0)
    assert loudness_lufs(np.concatenate((loud, quiet, 0 * loud)), RATE) == pytest.approx(
        loudness_lufs(loud, RATE), abs=0.1
    )


@pytest.mark.parametrize("audio", [np.zeros(RATE, np.float32), np.ones(100, np.float32), np.zeros((0, 2), np.float32)])
def test_silence_and_snippets_have_no_loudness(audio):
    """What cannot be measured is -inf, not an error."""
    assert loudness_lufs(audio, RATE) == -math.inf


@given(lead_db=st.floats(-20.0, 6.0), bass_db=st.floats(-20.0, 6.0))
@settings(max_examples=10, deadline=None)
def test_a_balance_is_read_off_the_stems(lead_db, bass_db):
    """The loudness of a sum, from the products of its stems, is that of the sum itself."""
    dry = {
        PartRole.LEAD: music(1, 5.0, 1)[:, 0],
        PartRole.BASS: sine(80.0, 0.2, 5.0),
        PartRole.DRUMS: music(2, 5.0, 2),
    }
    mix = mix_stems(dry, RATE)
    changed_db = {PartRole.LEAD: lead_db, PartRole.BASS: bass_db, PartRole.DRUMS: 0.0}
    total = sum(mix.stems[role] * np.float32(amplitude_from_db(changed_db[role])) for role in dry)
    gains = [amplitude_from_db(mix.gains_db[role] + changed_db[role]) for role in dry]
    assert mix.powers.lufs(gains) == pytest.approx(loudness_lufs(total, RATE), abs=0.002)

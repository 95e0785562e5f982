"""Loudness, true peak, limiter, and stems that sum to the mix."""

from __future__ import annotations

import math
import warnings
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE

from phrasewright.score.model import PartRole
from phrasewright.sound.mix import CEILING_DBTP, limit, loudness_lufs, mix_stems, mix_without, true_peak_dbtp


def sine(frequency_hz, peak, length_s=4.0, rate=RATE):
    return (peak * np.sin(2 * np.pi * frequency_hz * np.arange(int(length_s * rate)) / rate)).astype(np.float32)


def bursts(seed, length_s=5.0):
    """Rough music: decaying noise bursts, float32 (n,)."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE)) / RATE
    return (0.3 * rng.standard_normal(len(time_s)) * np.exp(-8.0 * (time_s % 0.5))).astype(np.float32)


DRY = {
    PartRole.LEAD: bursts(1),
    PartRole.BASS: sine(80.0, 0.2, 5.0),
    PartRole.DRUMS: np.stack((bursts(2), bursts(3)), axis=1),
}


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_loudness_anchor(rate):
    """A full-scale 997 Hz sine in one channel reads -3.01 LKFS (ITU-R BS.1770-4)."""
    assert loudness_lufs(sine(997.0, 1.0, rate=rate), rate) == pytest.approx(-3.01, abs=0.01)


def test_loudness_of_two_channels():
    """The same sine at -20 dBFS in both channels reads -20.0 (docs/sources.md: measured with the same filters)."""
    one = sine(997.0, 0.1)
    assert loudness_lufs(np.stack((one, one), axis=1), RATE) == pytest.approx(-20.0, abs=0.02)


@pytest.mark.parametrize("audio", [np.zeros(RATE, np.float32), np.ones(100, np.float32), np.zeros((0, 2), np.float32)])
def test_silence_and_snippets_have_no_loudness(audio):
    """What the meter cannot measure is -inf, not an error."""
    assert loudness_lufs(audio, RATE) == -math.inf


def test_true_peak_lies_between_samples():
    """A sine at a quarter of the rate, sampled 45 degrees off its crests, peaks 3 dB above its samples."""
    audio = np.tile(np.array([1.0, 1.0, -1.0, -1.0], np.float32) * 0.5, 5000)
    assert true_peak_dbtp(audio[2000:-2000], RATE) == pytest.approx(20 * math.log10(0.5 * 2**0.5), abs=0.7)
    assert true_peak_dbtp(np.zeros(100, np.float32), RATE) == -math.inf


def test_a_mix_keeps_loudness_and_ceiling():
    """-18 LUFS within 0.5, true peak at most -1 dBTP."""
    mix = mix_stems(DRY, RATE)
    assert loudness_lufs(mix.master, RATE) == pytest.approx(-18.0, abs=0.5)
    assert loudness_lufs(mix.unlimited, RATE) == pytest.approx(-18.0, abs=0.02)
    assert true_peak_dbtp(mix.master, RATE) <= CEILING_DBTP


def test_stems_sum_to_the_mix():
    """The stems, room included, add up to the mix before the limiter."""
    mix = mix_stems(DRY, RATE)
    assert np.abs(sum(mix.stems.values()) - mix.unlimited).max() < 1e-6


def test_a_part_left_out_leaves_nothing_behind():
    """Each stem carries its own room: without the lead, the others sound in their balance at the standard loudness."""
    mix = mix_stems(DRY, RATE)
    others = mix.stems[PartRole.BASS] + mix.stems[PartRole.DRUMS]
    band = mix_without(mix, PartRole.LEAD, RATE)
    assert loudness_lufs(band, RATE) == pytest.approx(-18.0, abs=0.5)
    assert true_peak_dbtp(band, RATE) <= CEILING_DBTP
    gain = np.vdot(band, others) / np.vdot(others, others)
    assert np.sqrt(np.mean((band - gain * others) ** 2) / np.mean(band**2)) < 0.02
    alone = mix_stems({PartRole.LEAD: DRY[PartRole.LEAD]}, RATE)
    assert not mix_without(alone, PartRole.LEAD, RATE).any()


def test_gains_let_a_page_repeat_the_balance():
    """gains_db times the dry stem is the stem's direct sound."""
    lead = np.zeros(2 * RATE, np.float32)
    lead[100] = 0.5
    mix = mix_stems({PartRole.LEAD: lead + 0.01 * sine(300.0, 1.0, 2.0)}, RATE)
    direct = mix.stems[PartRole.LEAD][100] - mix.stems[PartRole.LEAD][101]
    dry = (lead + 0.01 * sine(300.0, 1.0, 2.0))[100:102]
    assert direct == pytest.approx((dry[0] - dry[1]) * 10 ** (mix.gains_db[PartRole.LEAD] / 20), rel=1e-3)


def test_a_silent_stem_stays_silent():
    """A part that rests is no reason to fail."""
    mix = mix_stems({PartRole.LEAD: bursts(1), PartRole.CHORDS: np.zeros(5 * RATE, np.float32)}, RATE)
    assert not mix.stems[PartRole.CHORDS].any()
    silence = mix_stems({PartRole.LEAD: np.zeros(RATE, np.float32)}, RATE)
    assert not silence.master.any()


@given(seed=st.integers(0, 1000), gain=st.floats(0.1, 20.0))
@settings(max_examples=15)
def test_the_limiter_holds_its_ceiling(seed, gain):
    """Whatever comes in, the true peak that goes out is at most -1 dBTP, and nothing is made louder."""
    audio = np.stack((bursts(seed, 1.0), bursts(seed + 1, 1.0)), axis=1) * np.float32(gain)
    limited, cut_db = limit(audio, RATE)
    assert true_peak_dbtp(limited, RATE) <= CEILING_DBTP
    assert (np.abs(limited) <= np.abs(audio) + 1e-7).all()
    assert cut_db >= 0.0


def test_the_limiter_leaves_quiet_sound_alone():
    """Under the ceiling samples pass unchanged; a lone peak is cut only around itself."""
    quiet = np.stack((bursts(1, 1.0), bursts(2, 1.0)), axis=1) * np.float32(0.2)
    assert limit(quiet, RATE)[0] is quiet
    spiked = quiet.copy()
    spiked[RATE // 2] = 1.5
    limited, cut_db = limit(spiked, RATE)
    assert cut_db > 3.0
    assert np.array_equal(limited[: RATE // 2 - 500], quiet[: RATE // 2 - 500])
    assert np.array_equal(limited[RATE // 2 + 500 :], quiet[RATE // 2 + 500 :])


def test_a_mix_is_the_same_twice():
    """Same stems, same samples."""
    assert np.array_equal(mix_stems(DRY, RATE).master, mix_stems(DRY, RATE).master)


def test_stems_of_different_length_are_refused():
    """Stems start and end together."""
    with pytest.raises(ValueError, match="one length"):
        mix_stems({PartRole.LEAD: np.zeros(10, np.float32), PartRole.BASS: np.zeros(11, np.float32)}, RATE)


def test_many_threads_meter_at_once_without_a_warning():
    """Tracks are mixed side by side; silence between sounds never warns, whichever thread measures."""
    audio = np.zeros((2 * 44_100, 2), dtype=np.float32)
    audio[:20_000] = 0.1 * np.random.default_rng(0).standard_normal((20_000, 2))
    with warnings.catch_warnings(), ThreadPoolExecutor(8) as pool:
        warnings.simplefilter("error")
        found = list(pool.map(lambda _: loudness_lufs(audio, 44_100), range(40)))
    assert len(set(found)) == 1

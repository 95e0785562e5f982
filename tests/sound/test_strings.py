"""Plucked strings: tuning, decay, tone, damping, bends."""

from __future__ import annotations

import numpy as np
import pytest
from sound_measures import RATE, band_share, centroid_hz, fall_db_per_s, rms

from phrasewright.sound import strings
from phrasewright.units import cents_between, hz_from_midi

TONES = {
    "electric": strings.ELECTRIC,
    "rhythm": strings.RHYTHM,
    "acoustic": strings.ACOUSTIC,
    "bass": strings.BASS,
}


def play(tone, pitch=57, duration_s=2.0, velocity=0.8, **more):
    return strings.pluck(tone, pitch, duration_s, velocity, sample_rate=RATE, **more)


@pytest.mark.parametrize("name", TONES)
def test_low_strings_ring_longer_than_high_ones(name):
    """A held low note loses 2..14 dB/s after the attack, as real guitar notes do (docs/sound.md), a high one more."""
    low = 33 if name == "bass" else 45
    falls = [fall_db_per_s(play(TONES[name], pitch, 3.0), 0.5, 2.5) for pitch in (low, low + 24)]
    assert 2.0 < falls[0] < 14.0
    assert falls[0] < falls[1] < 45.0


@pytest.mark.parametrize("name", TONES)
def test_brightness_fades_before_loudness(name):
    """High partials die first: the spectrum's middle is lower a second after the attack."""
    note = play(TONES[name], 45 if name != "bass" else 33)
    assert centroid_hz(note[RATE : RATE + 8192]) < 0.92 * centroid_hz(note[:8192])


@pytest.mark.parametrize("name", TONES)
def test_soft_strokes_are_rounder(name):
    """A soft stroke has the lower spectral middle, not only the lower level."""
    soft, loud = (play(TONES[name], 45, velocity=v)[:16384] for v in (0.3, 0.95))
    assert centroid_hz(soft) < centroid_hz(loud)


def test_damping_is_quick_and_smooth():
    """After note-off the string is 35 dB down within 80 ms, and no step stands out where the finger lands."""
    note = play(strings.ELECTRIC, 52, 0.5)
    off = RATE // 2
    assert len(note) < off + 0.16 * RATE
    assert rms(note[off + int(0.08 * RATE) :]) < rms(note[off - 4000 : off]) / 56.0
    steps = np.abs(np.diff(note.astype(np.float64), 2))
    assert steps[off - 30 : off + 400].max() <= 1.2 * steps[off - 8000 : off - 30].max()


def test_palm_mute_is_short_and_dull():
    """A muted note is 30 dB down after a quarter of a second."""
    note = play(strings.MUTED, 45)
    assert rms(note[int(0.25 * RATE) :][:2000]) < rms(note[:2000]) / 30.0


def test_lead_and_rhythm_guitar_differ():
    """The rhythm guitar has more of its energy above 800 Hz, so that the two stay apart in a mix."""
    lead, rhythm = play(strings.ELECTRIC, 57)[:RATE], play(strings.RHYTHM, 57)[:RATE]
    assert band_share(rhythm, 800.0, 8000.0) > 2.0 * band_share(lead, 800.0, 8000.0)


def test_a_bend_arrives_in_tune():
    """A whole-tone bend over 0.3 s holds 200 cents above the fretted note."""
    ramp = np.concatenate((np.linspace(0.0, 200.0, int(0.3 * RATE)), [200.0]))
    note = play(strings.ELECTRIC, 64, 2.0, bend_cents=ramp)
    piece = note[int(0.4 * RATE) : int(1.9 * RATE)].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(piece * np.blackman(len(piece)), 1 << 20))
    found_hz = (1 + int(spectrum[1:12_000].argmax())) * RATE / (1 << 20)
    assert abs(cents_between(hz_from_midi(66), found_hz)) < 1.0


def test_no_bend_and_a_bend_of_nothing_agree():
    """The bend path without bend gives the straight note up to its damping."""
    straight, bent = play(strings.ELECTRIC, 57, 1.0), play(strings.ELECTRIC, 57, 1.0, bend_cents=np.zeros(1))
    assert np.abs(straight[:RATE] - bent[:RATE]).max() < 1e-4


def test_partials_are_stretched_by_stiffness():
    """The tenth partial of an open A lies sharp of ten times the first by what B says."""
    modes = strings.string_modes(strings.ELECTRIC, 45, 0.8)
    stretch = strings.stiffness_at(strings.ELECTRIC, 45)
    expected = 10.0 * np.sqrt((1 + 100 * stretch) / (1 + stretch))
    assert modes.frequency_hz[9] / modes.frequency_hz[0] == pytest.approx(expected)
    assert modes.frequency_hz[0] == pytest.approx(hz_from_midi(45))


def test_the_lowest_fret_is_taken():
    """An open string sounds its whole length, twelve frets up half of it."""
    assert strings.sounding_length(strings.ELECTRIC, 45) == 1.0
    assert strings.sounding_length(strings.ELECTRIC, 76) == pytest.approx(0.5)
    assert strings.sounding_length(strings.ELECTRIC, 38) == 1.0

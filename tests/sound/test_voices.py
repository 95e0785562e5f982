"""What every voice must keep: pitch, onset, loudness, silence at the end, same bytes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, bands, cents_off, distance_db, log_spectrum, onset_samples, rms

from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.voices import VELOCITY_LAYERS, Voice, layer_gain, render_note, velocity_layer
from phrasewright.units import hz_from_midi

RANGES = {Voice.BASS: (28, 60), Voice.ORGAN: (36, 96), Voice.ELECTRIC_PIANO: (36, 96)}
PITCHES = [(voice, pitch) for voice in Voice for pitch in range(*RANGES.get(voice, (40, 89)), 4)]


@pytest.mark.parametrize(("voice", "pitch"), PITCHES)
def test_notes_are_in_tune_and_on_time(voice, pitch):
    """Every voice is within 2 cents (0.5 here; palm mutes are too short to measure finer) and starts within 1 ms."""
    note = render_note(voice, pitch, 1.6, 0.8)
    length_s = 0.3 if voice is Voice.MUTED_GUITAR else 1.5
    assert abs(cents_off(note, pitch, length_s=length_s)) < (2.0 if voice is Voice.MUTED_GUITAR else 0.5)
    assert onset_samples(note, share=0.05) < 0.001 * RATE


@pytest.mark.parametrize("voice", Voice)
@given(pitch=st.integers(28, 96), duration_s=st.floats(0.03, 1.5), velocity=st.floats(0.05, 1.0))
@settings(max_examples=8)
def test_any_note_is_clean(voice, pitch, duration_s, velocity):
    """Any note is finite, far from clipping, starts and ends at silence, carries no DC."""
    note = render_note(voice, pitch, duration_s, velocity)
    assert note.dtype == np.float32
    assert np.isfinite(note).all()
    peak = np.abs(note).max()
    assert 0.0 < peak < 0.7
    assert abs(note[0]) < 0.2 * peak
    assert abs(note[-1]) < 0.003 * peak
    assert abs(note.sum(dtype=np.float64)) / RATE < peak / hz_from_midi(pitch)  # no more than one swing is left over
    assert len(note) < (duration_s + 0.4) * RATE


@pytest.mark.parametrize("voice", Voice)
def test_the_same_note_twice_is_the_same_samples(voice):
    """Same arguments, same samples; another seed, another stroke."""
    one, two = (render_note(voice, 52, 0.6, 0.7, seed=3) for _ in range(2))
    assert np.array_equal(one, two)
    other = render_note(voice, 52, 0.6, 0.7, seed=4)
    assert len(other) != len(one) or not np.array_equal(one, other)


@pytest.mark.parametrize("voice", Voice)
def test_harder_is_louder(voice):
    """Loudness rises with velocity, by 2 dB at least per step of 0.2."""
    levels = [loudness_lufs(render_note(voice, 52, 1.0, v), RATE) for v in (0.2, 0.4, 0.6, 0.8, 1.0)]
    if voice is Voice.MUTED_GUITAR:
        levels = [20 * np.log10(rms(render_note(voice, 52, 1.0, v)[:8000])) for v in (0.2, 0.4, 0.6, 0.8, 1.0)]
    assert all(b > a + 2.0 for a, b in itertools.pairwise(levels))


@pytest.mark.parametrize("voice", Voice)
def test_a_layer_played_louder_is_as_loud_as_the_stroke_itself(voice):
    """Layer sound times layer gain is within 1.5 dB of the note rendered at its own velocity."""
    for velocity in (0.35, 0.62, 1.0):
        own = rms(render_note(voice, 55, 0.8, velocity))
        shared = rms(render_note(voice, 55, 0.8, velocity_layer(velocity))) * layer_gain(velocity)
        assert abs(20 * np.log10(own / shared)) < 1.5


def test_voices_are_told_apart():
    """The log spectra of any two voices on the same note differ by 4 dB or more after level alignment."""
    filters = bands()
    spectra = [log_spectrum(render_note(voice, 52, 2.0, 0.8), filters) for voice in Voice]
    assert min(distance_db(one, other) for one, other in itertools.combinations(spectra, 2)) > 4.0


@given(velocity=st.floats(0.01, 1.0))
def test_the_nearest_layer(velocity):
    """No layer is nearer than the chosen one."""
    chosen = velocity_layer(velocity)
    assert all(abs(chosen - velocity) <= abs(layer - velocity) for layer in VELOCITY_LAYERS)


@pytest.mark.parametrize(("pitch", "duration_s", "velocity"), [(11, 1, 0.5), (60, 0, 0.5), (60, 1, 0), (60, 1, 1.1)])
def test_impossible_notes_are_refused(pitch, duration_s, velocity):
    """Arguments outside the documented ranges raise ValueError."""
    with pytest.raises(ValueError):
        render_note(Voice.GUITAR, pitch, duration_s, velocity)

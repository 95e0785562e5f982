"""Stems: events at their sample, choke, pan, shared renders."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, rms

from phrasewright.score.model import Drum
from phrasewright.sound.events import TimedHit, TimedNote
from phrasewright.sound.render import Pan, render_hits, render_notes
from phrasewright.sound.voices import Voice


def note(onset_s, pitch=52, duration_s=0.2, velocity=0.8):
    return TimedNote(onset_s=onset_s, duration_s=duration_s, pitch_midi=pitch, velocity=velocity)


def hit(onset_s, drum, velocity=0.8):
    return TimedHit(onset_s=onset_s, drum=drum, velocity=velocity)


@given(onsets_s=st.lists(st.floats(0.0, 1.5), min_size=1, max_size=4))
@settings(max_examples=10)
def test_notes_sound_where_the_schedule_says(onsets_s):
    """Before the first onset there is silence; within a millisecond after it there is sound."""
    stem = render_notes([note(t) for t in sorted(onsets_s)], Voice.GUITAR, length=2 * RATE)
    first = round(min(onsets_s) * RATE)
    assert not stem[:first].any()
    assert np.abs(stem[first : first + RATE // 1000]).max() > 0.01


@given(onset_s=st.floats(0.0, 1.0), drum=st.sampled_from(list(Drum)))
@settings(max_examples=10)
def test_strokes_sound_where_the_schedule_says(onset_s, drum):
    """A stroke starts on its sample, in both channels."""
    stem = render_hits([hit(onset_s, drum)], length=2 * RATE)
    first = round(onset_s * RATE)
    assert not stem[:first].any()
    assert (np.abs(stem[first : first + RATE // 500]).max(axis=0) > 1e-4).all()


def test_notes_add_up():
    """A chord is the sum of its notes (linear)."""
    low, high = note(0.1, 52), note(0.1, 59)
    together = render_notes([low, low, high, high], Voice.ORGAN, length=RATE)
    apart = [render_notes([n, n], Voice.ORGAN, length=RATE) for n in (low, high)]
    assert np.allclose(together, apart[0] + apart[1], atol=1e-6)


def test_a_closed_hat_silences_the_open_one():
    """The open hat rings until the foot comes down, and then no longer."""
    open_hat, pedal = hit(0.0, Drum.OPEN_HAT), hit(0.25, Drum.PEDAL_HAT)
    ringing = render_hits([open_hat], length=RATE)
    choked = render_hits([open_hat, pedal], length=RATE) - render_hits([pedal], length=RATE)
    late = slice(int(0.42 * RATE), int(0.5 * RATE))
    assert rms(choked[late]) < 0.1 * rms(ringing[late])
    assert np.array_equal(choked[: int(0.24 * RATE)], ringing[: int(0.24 * RATE)])


def test_velocity_is_continuous():
    """A slightly harder note is slightly louder, also from one layer to the next."""
    levels = [rms(render_notes([note(0.0, velocity=v)], Voice.BASS, length=RATE)) for v in np.arange(0.2, 1.01, 0.05)]
    assert (np.diff(levels) > 0).all()


def test_a_cut_tail_is_faded():
    """A note longer than the stem ends at silence."""
    stem = render_notes([note(0.0, duration_s=2.0)], Voice.ORGAN, length=RATE // 2)
    assert len(stem) == RATE // 2
    assert abs(stem[-1]) < 1e-6


def test_same_seed_same_samples():
    """Rendering twice gives the same stem; another seed another one."""
    hits = [hit(i * 0.2, Drum.SNARE) for i in range(4)]
    assert np.array_equal(render_hits(hits, length=RATE), render_hits(hits, length=RATE))
    assert not np.array_equal(render_hits(hits, length=RATE), render_hits(hits, length=RATE, seed=1))


@pytest.mark.parametrize(("place", "left", "right"), [(-1, 2**0.5, 0), (0, 1, 1), (1, 0, 2**0.5)])
def test_pan(place, left, right):
    """Constant power: full left, middle, full right."""
    assert Pan(place).gains == pytest.approx([left, right], abs=1e-6)


def test_a_pan_outside_is_refused():
    """There is nothing beyond the loudspeakers."""
    with pytest.raises(ValueError):
        Pan(1.2)


@pytest.mark.parametrize("bad", [{"onset_s": -0.1}, {"duration_s": 0.0}, {"velocity": 0.0}, {"velocity": 1.5}])
def test_impossible_events_are_refused(bad):
    """A timed note is valid or does not exist."""
    with pytest.raises(ValueError):
        TimedNote(**{"onset_s": 0.0, "duration_s": 1.0, "pitch_midi": 60, "velocity": 0.5, **bad})

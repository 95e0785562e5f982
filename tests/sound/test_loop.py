"""Loops join without a click."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sound_measures import RATE

from phrasewright.score.model import Drum
from phrasewright.sound.events import TimedHit, TimedNote
from phrasewright.sound.loop import seamless_loop
from phrasewright.sound.render import render_hits, render_notes
from phrasewright.sound.voices import Voice

FADE = RATE // 100


def band(bpm=90):
    """Two bars of guitar over hats, held notes across every bar line."""
    beat_s = 60.0 / bpm
    notes = [
        TimedNote(onset_s=i * 1.5 * beat_s, duration_s=1.5 * beat_s, pitch_midi=52 + i, velocity=0.8) for i in range(9)
    ]
    hits = [TimedHit(onset_s=i * 0.5 * beat_s, drum=Drum.RIDE, velocity=0.6) for i in range(24)]
    length = int(13 * beat_s * RATE)
    return render_notes(notes, Voice.ORGAN, length=length), render_hits(hits, length=length), beat_s


def test_the_join_is_as_smooth_as_the_music():
    """The step from the last sample to the first is an ordinary step of the sound around it."""
    organ, drums, beat_s = band()
    for audio in (organ, drums):
        start, end = round(4 * beat_s * RATE) - 777, round(8 * beat_s * RATE) - 777
        loop = seamless_loop(audio, start, end, FADE)
        steps = np.abs(np.diff(np.concatenate((loop, loop[:FADE])), axis=0))
        join = steps[len(loop) - 1]
        assert (np.atleast_1d(join) <= np.atleast_1d(steps[-3 * FADE :].max(axis=0)) + 1e-9).all()
        assert (np.atleast_1d(join) < np.abs(np.diff(audio[start - 50 : start + 50], axis=0)).max(axis=0) + 1e-9).all()


def test_a_hard_cut_would_click():
    """The same cut without a fade has a step many times larger: the test above can fail."""
    organ, _, beat_s = band()
    start, end = round(4 * beat_s * RATE) - 777, round(8 * beat_s * RATE) - 777
    hard, soft = seamless_loop(organ, start, end, 0), seamless_loop(organ, start, end, FADE)
    assert abs(hard[-1] - hard[0]) > 5 * abs(soft[-1] - soft[0])


@given(length=st.integers(10, 400), data=st.data())
def test_a_loop_has_its_length_and_runs_on(length, data):
    """The region's length is kept, its beginning untouched, its last sample is the one before the start."""
    audio = np.random.default_rng(length).standard_normal((length, 2)).astype(np.float32)
    start = data.draw(st.integers(0, length - 2))
    end = data.draw(st.integers(start + 2, length))
    fade = data.draw(st.integers(2, end - start))
    loop = seamless_loop(audio, start, end, fade)
    assert loop.shape == (end - start, 2)
    assert np.array_equal(loop[: end - start - fade], audio[start : end - fade])
    assert np.allclose(loop[-1], audio[start - 1] if start else 0.0)


@pytest.mark.parametrize(("start", "end", "fade"), [(-1, 5, 0), (5, 5, 0), (0, 101, 0), (0, 10, 11), (0, 10, -1)])
def test_impossible_loops_are_refused(start, end, fade):
    """A region outside the audio or a fade longer than the region raises ValueError."""
    with pytest.raises(ValueError):
        seamless_loop(np.zeros(100, np.float32), start, end, fade)

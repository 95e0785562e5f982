"""Tap-guided beats of recordings whose beats are known, measured with mir_eval.

The beat F-measure and its window of +-70 ms: Davies, Degara & Plumbley (2009), as in mir_eval (Raffel et al. 2014).
All grooves, tempos and seeds are measured by benchmarks/bench_beats.py; the table stands in docs/recordings.md.
"""

from __future__ import annotations

import mir_eval
import numpy as np
import pytest
from band_recordings import RATE, band_recording

from phrasewright.listen.bar_layout import BarLayout
from phrasewright.listen.beats import tap_anchors, track_beats
from phrasewright.listen.mapping import counted_beats, map_beats
from phrasewright.listen.onset_strength import onset_strength
from phrasewright.listen.taps import tapped_beat
from phrasewright.theory.meter import Meter

FOUR = BarLayout(meter=Meter(4, 4))

CASES = [("straight-eighths", 90, 0.03), ("quiet-sixteenths", 120, 0.03), ("swing", 160, 0.03), ("slow-12/8", 60, 0.0)]


def clicks(times_s: np.ndarray, length_s: float) -> np.ndarray:
    """A wood-block like click of 5 ms at each time, over a little noise."""
    audio = np.random.default_rng(0).normal(0, 1e-4, int(length_s * RATE))
    shape = np.sin(2 * np.pi * 1800 * np.arange(220) / RATE) * np.exp(-np.arange(220) / 60)
    for time_s in times_s:
        at = round(time_s * RATE)
        audio[at : at + len(shape)] += 0.5 * shape[: max(len(audio) - at, 0)]
    return audio.astype(np.float32)


@pytest.mark.parametrize(("groove", "tempo_bpm", "drift"), CASES)
@pytest.mark.parametrize("taps", [4, 8])
def test_beats_follow_taps_with_30_ms_of_jitter(groove: str, tempo_bpm: float, drift: float, taps: int) -> None:
    """F of at least 0.98 within +-70 ms, and no bias beyond 3 ms."""
    known = band_recording(groove, tempo_bpm, drift=drift)
    strength = onset_strength(known.audio)
    for seed, lead_s in ((1, 0.0), (2, 0.02)):
        tapped = tapped_beat(known.taps_s(np.arange(taps), seed, lead_s=lead_s), strength.length_s)
        found = track_beats(strength, tap_anchors(tapped))
        found = found[(found > known.beats_s[0] - 0.1) & (found < known.beats_s[-1] + 0.1)]
        assert mir_eval.beat.f_measure(known.beats_s, found) >= 0.98
        errors = np.array([found[np.abs(found - beat).argmin()] - beat for beat in known.beats_s])
        assert abs(np.mean(errors)) < 0.003


def test_clicks_are_placed_without_bias() -> None:
    """A click track with a wandering tempo: mean error under 3 ms, none beyond 8 ms."""
    beats_s = 1.0 + np.cumsum(0.5 + 0.02 * np.sin(np.arange(60) / 9))
    strength = onset_strength(clicks(beats_s, 34.0))
    found = track_beats(strength, tap_anchors(tapped_beat(tuple(beats_s[:6]), 34.0)))
    errors = np.array([found[np.abs(found - beat).argmin()] - beat for beat in beats_s])
    assert abs(errors.mean()) < 0.003
    assert np.abs(errors).max() < 0.008


def test_a_break_is_bridged() -> None:
    """Two silent bars in the middle: the beats go on, and are told as unsure."""
    beats_s = 1.0 + 0.5 * np.arange(64)
    played = np.delete(beats_s, np.arange(24, 32))
    strength = onset_strength(clicks(played, 34.0))
    found = map_beats(strength, tapped_beat(tuple(beats_s[:8]), 34.0), FOUR)
    times = np.array(found.times_s)
    assert np.abs([times[np.abs(times - beat).argmin()] - beat for beat in beats_s]).max() < 0.02
    sure = {bar.number: bar.confidence for bar in found.bars}
    assert max(sure[7], sure[8]) < 0.6 < min(sure[number] for number in (2, 3, 4, 11, 12))


def test_a_pinned_beat_stays_and_the_rest_is_found_around_it() -> None:
    """The tracker is pinned to one beat more in the first eight bars than it found: as many lie there as were said."""
    beats_s = np.concatenate([1.0 + 0.5 * np.arange(20), 10.9 + 0.46 * np.arange(40)])
    strength = onset_strength(clicks(beats_s, 30.0))
    tapped = tapped_beat(tuple(beats_s[:6]), 30.0)
    first = map_beats(strength, tapped, FOUR)
    index = next(number for number, beat in enumerate(first.beats) if (beat.bar, beat.beat) == (9, 1))
    pin = type(first.beats[0])(
        bar=9, beat=1, time_s=float(first.beats[index + 1].time_s), confidence=1.0, is_pinned=True
    )
    again = map_beats(strength, tapped, FOUR, pins=(pin,))
    places = [again.place(beat) for beat in again.beats]
    assert places == list(range(places[0], places[-1] + 1))
    (held,) = [beat for beat in again.beats if beat.is_pinned]
    assert (held.bar, held.beat, held.time_s) == (9, 1, pin.time_s)


def test_so_many_beats_as_are_wanted_lie_between_two() -> None:
    beats_s = 1.0 + np.cumsum(0.5 + 0.01 * np.sin(np.arange(40) / 5))
    strength = onset_strength(clicks(beats_s, 24.0))
    found = counted_beats(strength, float(beats_s[4]), float(beats_s[30]), np.ones(26))
    assert np.abs(found - beats_s[5:30]).max() < 0.010


def test_beats_between_two_go_by_a_tempo_mark() -> None:
    """Eight beats, then eight that are a quarter longer, and only the ends and the marks are known."""
    paces = np.repeat([1.0, 1.25], 8)
    beats_s = 1.0 + np.concatenate([[0.0], np.cumsum(0.5 * paces)])
    strength = onset_strength(clicks(beats_s, 12.0))
    found = counted_beats(strength, float(beats_s[0]), float(beats_s[-1]), paces)
    assert np.abs(found - beats_s[1:-1]).max() < 0.010

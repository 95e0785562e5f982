"""Recordings of people: two solos of GuitarSet (docs/sources.md 4), a guitar alone, to a click that is not heard.

The beats are those of the click (Xi et al., ISMIR 2018), which a player follows loosely; no drums, no chords.
"""

from __future__ import annotations

import csv
from pathlib import Path

import mir_eval
import numpy as np
import pytest

from phrasewright.listen.beats import tap_anchors, track_beats
from phrasewright.listen.onset_strength import onset_strength
from phrasewright.listen.recording import read_recording
from phrasewright.listen.taps import tapped_beat


@pytest.mark.parametrize(("take", "least"), [("00_BN1-129-Eb_solo", 0.85), ("05_Rock1-130-A_solo", 0.95)])
def test_beats_of_a_guitar_alone(data_dir: Path, take: str, least: float) -> None:
    """Eight taps with 30 ms of jitter; F within +-70 ms (mir_eval)."""
    recording = read_recording(data_dir / "guitarset_audio" / f"{take}_mic.wav")
    with (data_dir / "guitarset" / "beats" / f"{take}.csv").open(encoding="utf-8") as file:
        beats_s = np.array([float(row["time_s"]) for row in csv.DictReader(file)])
    strength = onset_strength(recording.audio)
    for seed in range(3):
        taps_s = np.clip(beats_s[:8] + np.random.default_rng(seed).normal(0, 0.03, 8), 0.0, None)
        tapped = tapped_beat(tuple(np.sort(taps_s)), recording.length_s)
        found = track_beats(strength, tap_anchors(tapped))
        found = found[found < beats_s[-1] + tapped.period_s / 2]
        assert mir_eval.beat.f_measure(beats_s, found) >= least

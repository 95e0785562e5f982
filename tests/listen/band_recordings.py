"""Recordings whose beats are known: our own band, rendered in any groove with a tempo that drifts.

Used by tests and benchmarks; what listens to them knows nothing of how they were made.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

import numpy as np

from phrasewright.band.arrange import accompany
from phrasewright.band.groove import GROOVES
from phrasewright.lesson.chart_text import read_chart
from phrasewright.score.chart import Chart
from phrasewright.score.model import Score
from phrasewright.score.pace import AS_WRITTEN, Pace
from phrasewright.score.performance import Performance
from phrasewright.sound.mix import mix_stems
from phrasewright.sound.track import render_track

RATE = 44_100
CHORDS = "| Em7 | Am7 | D7 | G | C | F#m7b5 | B7 | Em7 |"
WITHOUT_BEAT = ("drone", "metronome")  # reported apart: no drums that keep time, no notes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BandRecording:
    """audio: float32 (n, 2); beats_s: every beat of the chart, the first after one bar counted in."""

    audio: np.ndarray
    beats_s: np.ndarray
    chart: Chart

    def at(self, places) -> np.ndarray:
        """Times of places counted in beats from the first bar line."""
        return np.interp(places, np.arange(len(self.beats_s)), self.beats_s)

    def taps_s(self, places, seed: int, *, jitter_s: float = 0.03, lead_s: float = 0.0) -> tuple[float, ...]:
        """Taps at some places by a hand of this jitter."""
        off_s = np.random.default_rng(seed).normal(-lead_s, jitter_s, len(places))
        return tuple(float(tap) for tap in np.sort(self.at(places) + off_s))


@cache
def band_recording(groove_id: str, tempo_bpm: float, *, drift: float = 0.0, seconds: float = 40.0) -> BandRecording:
    """The band over eight bars again and again; its tempo swings once by +-drift from start to end."""
    groove = GROOVES[groove_id]
    meter = next(iter(groove.plans))
    chart = read_chart(CHORDS, meter)
    quarters_bpm = tempo_bpm * float(meter.pulse)
    measures = chart.unfold(max(8, int(seconds / 60 * quarters_bpm / float(meter.bar))))
    band = accompany(measures, groove, seed=1)
    score = Score(title="Known", measures=measures, parts=band.parts, fifths=1, drums=band.drums)
    pace = _drifting(score.end, drift) if drift else AS_WRITTEN
    performance = Performance(tempo_bpm=quarters_bpm, swing=groove.swing, pace=pace)
    track = render_track(score, performance, count_in_bars=1, seed=1)
    beats = int(score.end / meter.pulse)
    beats_s = [track.lead_in_s + performance.seconds_at(number * meter.pulse) for number in range(beats)]
    audio = mix_stems(track.dry, RATE).master.astype(np.float32)
    return BandRecording(audio=audio, beats_s=np.array(beats_s), chart=chart)


def _drifting(end: Fraction, drift: float) -> Pace:
    length = float(end)

    def played(quarters: Fraction) -> float:
        turn = 2 * math.pi * float(quarters) / length
        return float(quarters) - drift * length / (2 * math.pi) * (1 - math.cos(turn))

    steps = [Fraction(number, 2) for number in range(int(end) * 2 + 1)]
    return Pace(tuple((step, played(step)) for step in steps))

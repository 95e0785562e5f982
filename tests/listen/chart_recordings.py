"""Recordings of whole charts, pick-up, coda, changes of meter and tempo, whose beats are known: our own band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np

from phrasewright.band.arrange import accompany
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES
from phrasewright.lesson.chart_text import read_chart
from phrasewright.score.model import Score
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import Performance
from phrasewright.score.played_chart import PlayedChart
from phrasewright.sound.mix import mix_stems
from phrasewright.sound.track import render_track
from phrasewright.theory.meter import Meter

RATE = 44_100
CHARTS = {
    "a 2/4 bar inside": "| Em7 | Am7 | 2/4 D7 | 4/4 G | C | F#m7b5 | B7 | Em7 |",
    "a pick-up": "(B7)\n| Em7 | Am7 | D7 | G | C | F#m7b5 | B7 | Em7 |",
    "a coda": "| Em7 | Am7 | D7 | G @coda | C | F#m7b5 | B7 | Em7 |\n[Coda]\n| C | B7 | Em7 |",
    "slower": "| Em7 | Am7 | D7 | G | @80% C | F#m7b5 | B7 | @100% Em7 |",
    "a ritardando": "| Em7 | Am7 | D7 | G | C | F#m7b5 | B7 | @rit Em7 |",
    "everything": "(B7)\n| Em7 | Am7 | 2/4 D7 | 3/4 G | 4/4 @80% C | F#m7b5 | @100% B7 @coda | 5/4 Em7 |\n"
    "[Coda]\n| 4/4 C | @rit B7 | Em7 |",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChartRecording:
    """audio: float32 (n, 2); beats_s: every beat, the first of the pick-up or of bar 1; lines_s: where bars begin, by
    number.
    """

    audio: np.ndarray
    beats_s: np.ndarray
    lines_s: dict[int, float]
    played: PlayedChart

    def taps_s(self, first: int, count: int, seed: int) -> tuple[float, ...]:
        """Taps by a hand of 30 ms of jitter, from a beat of all."""
        off_s = np.random.default_rng(seed).normal(0.0, 0.03, count)
        return tuple(float(tap) for tap in np.sort(self.beats_s[first : first + count] + off_s))


@cache
def chart_recording(
    name: str,
    tempo_bpm: float,
    *,
    choruses: int = 3,
    groove: str = "straight-eighths",
    freedom: Fraction = Fraction(1),
) -> ChartRecording:
    """The band over the whole chart, after one bar counted in. freedom: how far it goes with a change of tempo, 1 = as
    far as is written.
    """
    played = PlayedChart(chart=read_chart(CHARTS[name], Meter(4, 4)), choruses=choruses)
    measures = tuple(replace(bar, pace=1 + (bar.pace - 1) * freedom) for bar in played.once)
    band = accompany(measures, GROOVES[groove], seed=1, ending=Ending.FINAL)
    score = Score(title="Known", measures=measures, parts=band.parts, fifths=1, drums=band.drums)
    performance = Performance(tempo_bpm=tempo_bpm, swing=GROOVES[groove].swing, pace=pace_of(measures))
    track = render_track(score, performance, count_in_bars=1, seed=1)
    at_s = [track.lead_in_s + performance.seconds_at(beat * played.pulse) for beat in range(int(score.end))]
    lines_s = {bar.number: track.lead_in_s + performance.seconds_at(bar.onset) for bar in measures}
    audio = mix_stems(track.dry, RATE).master.astype(np.float32)
    return ChartRecording(audio=audio, beats_s=np.array(at_s), lines_s=lines_s, played=played)

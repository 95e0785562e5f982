"""What a track measures: the lead's place, the spectrum, crest and width, the count-in (table in docs/sound.md).

usage: python benchmarks/track_figures.py

Five grooves, each at three tempos: a lesson's track as it is built, two choruses of the usual chart. Prints one line a
track, then the least and the greatest of every figure. Loudness: ITU-R BS.1770-4.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import butter, sosfilt

from phrasewright.app.audio import play
from phrasewright.app.pieces import track_piece
from phrasewright.band.form import Ending
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import read_lesson
from phrasewright.score.model import Drum, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import Mix, mix_stems
from phrasewright.sound.sounds import MODELS
from phrasewright.sound.track import Track
from phrasewright.units import db_from_amplitude

GROOVES = {"shuffle": "4/4", "slow-12/8": "12/8", "straight-eighths": "4/4", "swing": "4/4", "quiet-sixteenths": "4/4"}
TEMPOS_BPM = (60.0, 90.0, 130.0)
LESSON = """\
[lesson]
title = "Figures"
seed = 11
[scale]
root = "A"
[position]
style = "open"
[motifs]
sizes = [3]
shelf = 3
[band]
groove = "{groove}"
meter = "{meter}"
tempos = [90]
choruses = 2
[study]
bars = 8
"""
BLOCK = round(0.4 * SAMPLE_RATE)
PLAYING_LU = 8.0  # under its loudest 400 ms the lead counts as playing
RANGES_HZ = ((20, 60), (60, 250), (250, 500), (500, 2000), (2000, 20_000))
BACKBEAT = {Drum.SNARE, Drum.SIDE_STICK}


def main() -> None:
    everything = []
    for groove, meter in GROOVES.items():
        text = LESSON.format(groove=groove, meter=meter)
        planned = plan(read_lesson(text, "figures.toml"), file="figures.toml", text=text)
        score = track_piece(planned, Ending.FINAL).score
        for tempo_bpm in TEMPOS_BPM:
            quarters_bpm = planned.lesson.quarters_per_minute(tempo_bpm)
            performance = Performance(tempo_bpm=quarters_bpm, swing=planned.lesson.groove.swing)
            track = play(score, performance, seed=11, sounds=MODELS)
            figures = figures_of(mix_stems(track.dry, SAMPLE_RATE), track, score)
            everything.append(figures)
            print(f"{groove} at {tempo_bpm:g}: " + ", ".join(f"{name} {value:.1f}" for name, value in figures.items()))
    print()
    for name in everything[0]:
        values = [figures[name] for figures in everything if np.isfinite(figures[name])]
        print(f"{name}: {min(values):.1f} to {max(values):.1f}, mean {np.mean(values):.1f}")


def figures_of(mix: Mix, track: Track, score: Score) -> dict[str, float]:
    """Every figure of one track, in dB or LU."""
    lead = mix.stems[PartRole.LEAD]
    band = mix.stems.sum([role for role in mix.stems if role is not PartRole.LEAD])
    loud = blocks(lead, lufs)
    playing = loud > loud.max() - PLAYING_LU
    middle, sides = mix.master.mean(axis=1), np.ptp(mix.master, axis=1) / 2
    return {
        "lead over band": float(np.median(loud[playing] - blocks(band, lufs)[playing])),
        "lead over band, 300-4000 Hz": float(np.median(blocks(lead, speech)[playing] - blocks(band, speech)[playing])),
        **shares(middle),
        "crest factor": level(np.abs(mix.master).max()) - level(rms(mix.master)),
        "sides against middle": level(rms(sides)) - level(rms(middle)),
        "steady part of the worst stem": max(level(abs(float(stem.mean()))) for stem in track.dry.values()),
        "taken off the highest peak": mix.limited_db,
        **count_in(mix, track, score),
    }


def count_in(mix: Mix, track: Track, score: Score) -> dict[str, float]:
    """How far the count-in lies under the music, and its round clicks under the backbeat (nan without one)."""
    start = round(track.lead_in_s * SAMPLE_RATE)
    music = np.median(blocks(mix.master[start:], lufs))
    drums = np.abs(mix.stems[PartRole.DRUMS]).max(axis=1)
    hits = score.drums.hits if score.drums else ()
    beats = [peak_at(drums, track.sample_at(hit.onset)) for hit in hits if hit.drum in BACKBEAT]
    meter = score.measures[0].meter
    clicks = [start - round(beat * start / len(meter.groups)) for beat in range(1, len(meter.groups))]
    peaks = [peak_at(drums, at) for at in clicks]
    return {
        "music over the count-in": float(music - max(blocks(mix.master[:start], lufs))),
        "backbeat over round clicks": level(np.median(beats)) - level(max(peaks)) if beats else float("nan"),
    }


def shares(sound: np.ndarray) -> dict[str, float]:
    """Energy in each range against the whole."""
    power = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE)
    return {
        f"{low}-{high} Hz": level(np.sqrt(power[(hz >= low) & (hz < high)].sum() / power.sum()))
        for low, high in RANGES_HZ
    }


def blocks(sound: np.ndarray, measure) -> np.ndarray:
    """A measure of each 400 ms in turn."""
    return np.array([measure(sound[at : at + BLOCK]) for at in range(0, len(sound) - BLOCK + 1, BLOCK)])


def lufs(sound: np.ndarray) -> float:
    return loudness_lufs(sound, SAMPLE_RATE)


def speech(sound: np.ndarray) -> float:
    """Level between 300 Hz and 4 kHz, where a line is told from what is around it."""
    return level(rms(sosfilt(butter(2, [300, 4000], "bandpass", fs=SAMPLE_RATE, output="sos"), sound, axis=0)))


def peak_at(sound: np.ndarray, at: int) -> float:
    return float(sound[at : at + SAMPLE_RATE // 20].max(initial=0.0))


def rms(sound: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(sound, dtype=np.float64))))


def level(amplitude: float) -> float:
    return db_from_amplitude(max(float(amplitude), 1e-12))


if __name__ == "__main__":
    main()

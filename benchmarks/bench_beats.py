"""How well and how fast beats are found on recordings whose beats are known, and how fast a recording is stretched.

    python benchmarks/bench_beats.py            prints the tables of docs/recordings.md
    python benchmarks/bench_beats.py --quick    one tempo and seed of each groove

Recordings: our own band in every groove, eight bars of chords again and again for 40 s, the tempo swinging by +-3 %.
Whole charts: those of tests/listen/chart_recordings.py. Taps: the first eight beats, 30 ms of jitter (standard
deviation). "x" is times real time, in CPU seconds.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from fractions import Fraction
from pathlib import Path

import mir_eval
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "listen"))

from band_recordings import RATE, WITHOUT_BEAT, BandRecording, band_recording
from chart_recordings import CHARTS, ChartRecording, chart_recording

from phrasewright.band.groove import GROOVES
from phrasewright.listen.bar_layout import layout_of
from phrasewright.listen.beats import free_beats, tap_anchors, track_beats
from phrasewright.listen.harmony import pitch_classes
from phrasewright.listen.mapping import heard_between, map_beats
from phrasewright.listen.onset_strength import OnsetStrength, onset_strength
from phrasewright.listen.paced_beats import track_paced
from phrasewright.listen.readings import Notice, read_taps_well, tapped_grid
from phrasewright.listen.taps import TapsError, tapped_beat
from phrasewright.score.played_chart import PlayedChart
from phrasewright.sound.stretch import stretched

TEMPOS_BPM = (60.0, 90.0, 120.0, 160.0)
TAPPED = {
    "right": (np.arange(8.0), None),
    "half": (np.arange(8.0) * 2, Notice.HALF),
    "double": (np.arange(8.0) / 2, Notice.DOUBLE),
    "after": (np.arange(8.0) + 0.5, Notice.BETWEEN),
    "before": (np.arange(8.0) + 31.5, Notice.BETWEEN),
}


def tracked(known: BandRecording, strength: OnsetStrength, taps: int, seed: int) -> tuple[float, float]:
    """F-measure within 70 ms, and mean error in ms."""
    tapped = tapped_beat(known.taps_s(np.arange(taps), seed), strength.length_s)
    found = track_beats(strength, tap_anchors(tapped))
    half_s = tapped.period_s / 2
    found = found[(found > known.beats_s[0] - half_s) & (found < known.beats_s[-1] + half_s)]
    errors_ms = 1000 * np.array([found[np.abs(found - beat).argmin()] - beat for beat in known.beats_s])
    return mir_eval.beat.f_measure(known.beats_s, found), float(errors_ms[np.abs(errors_ms) < 70].mean())


def noticed(known: BandRecording, strength: OnsetStrength, energy: np.ndarray, case: str, seed: int) -> str:
    """Whether what is wrong with the taps is said: yes, no, or something else."""
    places, expected = TAPPED[case]
    try:
        taps = tapped_beat(known.taps_s(places, seed), strength.length_s)
    except TapsError:
        return "refused"
    grid = tapped_grid(taps, free_beats(strength, np.array(taps.periods_s)))
    said = {one.notice for one in read_taps_well(taps, grid, strength, energy, PlayedChart(chart=known.chart))} - {
        Notice.UNEVEN
    }
    return "yes" if said == ({expected} if expected else set()) else "other" if said else "no"


def tables(tempos_bpm: tuple[float, ...], seeds: range) -> None:
    print("| groove | F, least | F, mean | mean error, ms | " + " | ".join(TAPPED) + " |")
    print("| --- " * (4 + len(TAPPED)) + "|")
    for groove in sorted(GROOVES, key=lambda id_: (id_ in WITHOUT_BEAT, id_)):
        scores, counts = [], {case: Counter() for case in TAPPED}
        for tempo_bpm in tempos_bpm:
            known = band_recording(groove, tempo_bpm, drift=0.03)
            strength, energy = onset_strength(known.audio), pitch_classes(known.audio)
            scores += [tracked(known, strength, taps, seed) for taps in (4, 8) for seed in seeds]
            for case, counted in counts.items():
                if case != "before" or len(known.beats_s) > 41:
                    counted.update(noticed(known, strength, energy, case, seed) for seed in seeds)
            band_recording.cache_clear()
        f_measures, errors_ms = np.array(scores).T
        told = " | ".join(f"{one['yes']} of {one.total() - one['refused']}" for one in counts.values())
        print(
            f"| {groove} | {f_measures.min():.3f} | {f_measures.mean():.3f} | {errors_ms.mean():+.1f} | {told} |",
            flush=True,
        )


def chart_table(tempos_bpm: tuple[float, ...], seeds: range) -> None:
    """Whole charts, three choruses, in two grooves; changes of tempo as far as written, and a quarter less and more."""
    print("| chart | F, least | F, mean | farthest bar line, ms |\n| --- | --- | --- | --- |")
    for name in CHARTS:
        for freedom in (1.0, 0.75, 1.25) if "%" in CHARTS[name] else (1.0,):
            scores: list[tuple[float, float]] = []
            for groove in ("straight-eighths", "swing"):
                for tempo_bpm in tempos_bpm:
                    known = chart_recording(name, tempo_bpm, groove=groove, freedom=Fraction(freedom))
                    strength = onset_strength(known.audio)
                    scores += [mapped(known, strength, seed) for seed in seeds]
                    chart_recording.cache_clear()
            f_measures, lines_ms = np.array(scores).T
            words = name if freedom == 1.0 else f"{name}, by {freedom:g} times as much"
            print(f"| {words} | {f_measures.min():.3f} | {f_measures.mean():.3f} | {lines_ms.max():.0f} |", flush=True)


def mapped(known: ChartRecording, strength: OnsetStrength, seed: int) -> tuple[float, float]:
    """F-measure within 70 ms, and the farthest bar line in ms, from eight taps at the start."""
    layout = layout_of(known.played)
    found = map_beats(
        strength,
        tapped_beat(known.taps_s(0, 8, seed), strength.length_s),
        layout,
        played=known.played,
        heard_s=heard_between(known.audio),
        first_bar=0 if layout.pickup else 1,
    )
    times_s = np.array([beat.time_s for beat in found.beats if found.place(beat) >= -layout.pickup])
    lines_s = {beat.bar: beat.time_s for beat in found.beats if beat.beat == 1}
    off_s = [abs(lines_s.get(bar, np.inf) - line_s) for bar, line_s in known.lines_s.items()]
    return mir_eval.beat.f_measure(known.beats_s, times_s), 1000 * max(off_s)


def speeds() -> None:
    """Of each step on three minutes."""
    known = band_recording("straight-eighths", 100.0, seconds=180.0)
    length_s = len(known.audio) / RATE
    started = time.process_time()
    strength = onset_strength(known.audio)
    heard = time.process_time()
    taps = tapped_beat(known.taps_s(np.arange(8), 1), length_s)
    track_beats(strength, tap_anchors(taps))
    found = time.process_time()
    track_paced(strength, tap_anchors(taps), first_s=taps.times_s[0], paces=lambda places: np.ones(len(places)))
    paced = time.process_time()
    pitch_classes(known.audio)
    harmony = time.process_time()
    print(f"onset strength x{length_s / (heard - started):.0f}, beats x{length_s / (found - heard):.0f}")
    print(
        f"beats with tempo marks x{length_s / (paced - found):.0f}, pitch classes x{length_s / (harmony - paced):.0f}"
    )
    for speed in (0.6, 0.8, 1.25):
        started = time.process_time()
        stretched(known.audio, RATE, speed)
        print(f"stretched to {speed:g}: x{length_s / (time.process_time() - started):.0f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true")
    quick = parser.parse_args().quick
    speeds()
    chart_table((120.0,) if quick else TEMPOS_BPM, range(1) if quick else range(4))
    tables((120.0,) if quick else TEMPOS_BPM, range(1) if quick else range(4))

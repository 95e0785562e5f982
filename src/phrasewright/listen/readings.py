"""Whether the taps mean what their teacher thinks: half or double tempo, between the beats, or not from beat one.

Two witnesses. Rhythm: taps between the beats fall on less than what lies half a beat away. Harmony, where there is a
chart: its chords fit the recording well under one reading of the taps and badly under all others. Every limit was set
on our own rendered tracks in every groove, where both are known; docs/recordings.md has the table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.harmony import chord_fit
from phrasewright.listen.taps import UNEVEN

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from phrasewright.listen.onset_strength import OnsetStrength
    from phrasewright.listen.taps import TappedBeat
    from phrasewright.score.played_chart import PlayedChart
    from phrasewright.theory.chord import Chord

    FloatArray = NDArray[np.float64]

REACH_S = 0.025  # around a place that its strength is taken from
WEIGHT_OF_RHYTHM, WEIGHT_OF_FIT = 3.0, 5.0
SHIFTS = (-0.5, 0.5)  # beats
SURE_BETWEEN, SURE_WITHOUT_CHART = 0.25, 0.9  # evidence that taps lie between the beats
OTHER_TEMPO, OTHER_FIRST = 1.2, 1.15  # so many times better must another reading fit
LEAST_BETTER, LEAST_FIT = 0.02, 0.05
FEWEST_HEARD = 4  # chords that a reading is judged by
STRONG_BETWEEN, SLOW_BPM = 0.6, 85.0  # without a chart: what lies between slow taps is as strong as beats are
WEAK_SECOND = 0.48  # without a chart: every second tap is so much weaker


class Notice(StrEnum):
    """What is said about taps."""

    HALF = "half tempo"
    DOUBLE = "double tempo"
    BETWEEN = "between the beats"
    FIRST = "not from beat one"
    UNEVEN = "uneven"
    OTHER_CHORDS = "other chords"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One thing noticed. words: a sentence or two for the teacher."""

    notice: Notice
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartChords:
    """The chords of a chart along a recording. starts: in beats from the first beat of bar 1, below 0 in a pick-up, one
    more than chords; bars: the number of the bar of each; first_beats: of bar 1.
    """

    starts: tuple[float, ...]
    chords: tuple[Chord | None, ...]
    bars: tuple[int, ...]
    first_beats: int

    @property
    def tell_apart(self) -> bool:
        """Whether there is a change of chord that could lie in a wrong place."""
        return len({chord for chord in self.chords if chord is not None}) > 1


def chart_chords(played: PlayedChart, beats: int) -> ChartChords:
    """The chart as it is played, over so many tapped beats from bar 1."""
    beat = played.pulse
    whole = [bar for bar in played.measures(beats) if bar.end - played.pickup <= beats * beat]
    measures = whole or played.measures(1)
    spans = [(measure.number, span) for measure in measures for span in measure.chords]
    starts = [float((span.onset - played.pickup) / beat) for _, span in spans]
    first = next(measure for measure in played.once if measure.number > 0)
    return ChartChords(
        starts=(*starts, float((measures[-1].end - played.pickup) / beat)),
        chords=tuple(span.chord for _, span in spans),
        bars=tuple(number for number, _ in spans),
        first_beats=int(first.meter.bar / beat),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Beats as tapped, continued along the recording. first: which of them the first tap is."""

    times_s: FloatArray
    first: int

    def at(self, beats: FloatArray) -> FloatArray:
        """Times of places counted in beats from the first tap; NaN outside the recording."""
        places = np.asarray(beats) + self.first
        inside = (places >= 0) & (places <= len(self.times_s) - 1)
        return np.where(inside, np.interp(places, np.arange(len(self.times_s)), self.times_s), np.nan)


def tapped_grid(taps: TappedBeat, free_s: FloatArray) -> Grid:
    """Beats found at the tapped tempo wherever the taps fall, moved by half a beat if the taps say so."""
    beats_s = free_s if _phase(taps, free_s) < 0.25 else (free_s[1:] + free_s[:-1]) / 2
    return Grid(times_s=beats_s, first=int(np.abs(beats_s - taps.times_s[0]).argmin()))


def _phase(taps: TappedBeat, beats_s: FloatArray) -> float:
    """How far taps lie from beats, 0 = on them, 0.5 = between."""
    places = np.interp(taps.times_s, beats_s, np.arange(len(beats_s)))
    turned = np.exp(2j * np.pi * places).mean()
    return abs(float(np.angle(turned))) / (2 * math.pi)


def read_taps_well(
    taps: TappedBeat, grid: Grid, strength: OnsetStrength, energy: NDArray[np.float32], chart: PlayedChart | None
) -> tuple[Said, ...]:
    """What there is to say. energy: of ``harmony.pitch_classes``; chart: None where there is none."""
    chords = None if chart is None else chart_chords(chart, len(grid.times_s) - grid.first)
    if chords is not None and not chords.tell_apart:
        chords = None
    if chords is None:
        said = list(_between(taps, grid, strength, {})) or list(_by_rhythm(taps, grid, strength))
    else:
        fits = _Fits.of(grid, energy, chords)
        said = (
            list(_other_tempo(taps, fits))
            or list(_between(taps, grid, strength, _by_harmony(grid, energy, chords, fits)))
            or list(_other_first(chords.first_beats, fits))
        )
    if taps.scatter > UNEVEN:
        off_ms = 1000 * taps.scatter * taps.period_s
        words = f"The taps are uneven, {off_ms:.0f} ms beside even ones on average. Check the first bars, or tap again."
        said.append(Said(notice=Notice.UNEVEN, words=words))
    return tuple(said)


# ---- between the beats -----------------------------------------------------------------------------------------


def _between(taps: TappedBeat, grid: Grid, strength: OnsetStrength, by_harmony: dict[float, float]) -> Iterator[Said]:
    """by_harmony: evidence of the chart for each shift; empty without a chart."""
    after = np.arange(0.5, len(grid.times_s) - grid.first - 1)
    here, there = (_mean_rise(strength, grid.at(after + by)) for by in (-0.5, 0.0))
    rhythm = WEIGHT_OF_RHYTHM * math.log(there / here)
    shift = max(by_harmony, key=lambda one: by_harmony[one], default=0.0)
    if rhythm + by_harmony.get(shift, 0.0) > (SURE_BETWEEN if by_harmony else SURE_WITHOUT_CHART):
        way = f" The chart fits {taps.period_s / 2:.2f} s {'later' if shift > 0 else 'earlier'}." if by_harmony else ""
        words = f"The taps lie between the beats: what is half a beat away is played stronger.{way} Tap on the beat."
        yield Said(notice=Notice.BETWEEN, words=words)


def _by_harmony(grid: Grid, energy: NDArray[np.float32], chords: ChartChords, fits: _Fits) -> dict[float, float]:
    """How much better the chart fits half a beat earlier and later than as tapped; 0 = alike. By how sharply its chords
    change there, and by how well they fit all along.
    """
    kept = max(_change(grid, energy, chords, 0.0), 0.01)
    found = {}
    for shift in SHIFTS:
        sharper = math.log(max(_change(grid, energy, chords, shift), 0.01) / kept)
        better = math.log(max(fits.shifted[shift], 0.01) / max(fits.tapped, 0.01))
        found[shift] = float(np.clip(sharper, -2.0, 2.0)) + WEIGHT_OF_FIT * float(np.clip(better, -0.4, 0.4))
    return found


def _mean_rise(strength: OnsetStrength, times_s: FloatArray) -> float:
    return float(strength.around(times_s[np.isfinite(times_s)], REACH_S).mean()) + 1e-6


def _change(grid: Grid, energy: NDArray[np.float32], chords: ChartChords, shift: float) -> float:
    """How sharply the chords change where they should: the new chord after, the old one before, half a beat each."""
    pairs = [
        (start, old, new)
        for start, old, new in zip(chords.starts[1:], chords.chords, chords.chords[1:], strict=False)
        if old is not None and new is not None and old != new
    ]
    sharp = []
    for start, old, new in pairs:
        before, at, after = grid.at(np.array([start + shift - 0.5, start + shift, start + shift + 0.5]))
        if np.isfinite(after):
            gains = [
                float(chord_fit(energy, span, [chord])[0])
                for span in ((at, after), (before, at))
                for chord in (new, old)
            ]
            sharp.append(gains[0] - gains[1] + gains[3] - gains[2])
    return float(np.mean(sharp)) if sharp else 0.0


# ---- another tempo, another first beat -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fits:
    """How well the chart fits: as tapped, twice as fast, half as fast, half a beat earlier and later, and by which beat
    of a bar the first tap is.
    """

    tapped: float
    fast: float
    slow: float
    shifted: dict[float, float]
    firsts: dict[int, float]

    @classmethod
    def of(cls, grid: Grid, energy: NDArray[np.float32], chords: ChartChords) -> _Fits:
        def fit(beat: float, first: float = 0.0) -> float:
            times_s = grid.at(np.array(chords.starts) * beat - first)
            fits = chord_fit(energy, times_s, chords.chords)
            return float(np.nanmean(fits)) if np.isfinite(fits).sum() >= FEWEST_HEARD else 0.0

        firsts = {beat + 1: fit(1.0, beat) for beat in range(1, chords.first_beats)}
        shifted = {shift: fit(1.0, -shift) for shift in SHIFTS}
        return cls(tapped=fit(1.0), fast=fit(0.5), slow=fit(2.0), shifted=shifted, firsts=firsts)

    @property
    def best(self) -> float:
        """Of all."""
        return max(self.tapped, self.fast, self.slow, *self.firsts.values(), 0.0)


def _other_tempo(taps: TappedBeat, fits: _Fits) -> Iterator[Said]:
    if _better(fits.fast, fits.tapped, OTHER_TEMPO) and fits.fast >= fits.slow:
        what = f"The taps seem to be every second beat: the chart fits a beat of {2 * taps.tempo_bpm:.0f} a minute."
        yield Said(notice=Notice.HALF, words=f"{what} Tap every beat.")
    elif _better(fits.slow, fits.tapped, OTHER_TEMPO):
        what = f"The taps seem to be twice too fast: the chart fits a beat of {taps.tempo_bpm / 2:.0f} a minute."
        yield Said(notice=Notice.DOUBLE, words=f"{what} Tap half as often.")


def _other_first(beats_in_bar: int, fits: _Fits) -> Iterator[Said]:
    beat = max(fits.firsts, key=lambda one: fits.firsts[one], default=1)
    if beats_in_bar > 1 and _better(fits.firsts[beat], fits.tapped, OTHER_FIRST):
        what = f"The first tap seems to be beat {beat} and not beat 1: so the chart fits better."
        yield Said(notice=Notice.FIRST, words=f"{what} If it is, say first beat {beat}.")
    elif fits.best < LEAST_FIT:
        what = "The chords of the chart are not heard in the recording."
        yield Said(notice=Notice.OTHER_CHORDS, words=f"{what} Check the chart, its key and where it begins.")


def _better(other: float, tapped: float, times: float) -> bool:
    return other > LEAST_FIT and other > times * max(tapped, 0.0) + LEAST_BETTER


def _by_rhythm(taps: TappedBeat, grid: Grid, strength: OnsetStrength) -> Iterator[Said]:
    after = np.arange(0.0, len(grid.times_s) - grid.first - 1)
    on, between = (_mean_rise(strength, grid.at(after + by)) for by in (0.0, 0.5))
    second, every = (_mean_rise(strength, grid.at(after[first::2])) for first in (1, 0))
    if taps.tempo_bpm < SLOW_BPM and between > STRONG_BETWEEN * on:
        what = f"The taps may be every second beat, of {2 * taps.tempo_bpm:.0f} a minute."
        yield Said(notice=Notice.HALF, words=f"{what} If so, tap every beat; with a chart this could be told for sure.")
    elif min(second, every) < WEAK_SECOND * max(second, every):
        what = f"Every second tap falls on little: the beat may be {taps.tempo_bpm / 2:.0f} a minute."
        yield Said(notice=Notice.DOUBLE, words=f"{what} If so, tap half as often.")

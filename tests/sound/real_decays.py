"""How the partials and the bands of a note die away, measured alike on recordings and on our models.

A partial's envelope is the Fourier transform at just its frequency in frames of four periods, so that its neighbours
fall on the window's zeros. Its decay is the slope of a straight line through the level in dB, first 0.05 to 0.8 s after
the attack, then 0.8 to 2.6 s, as long as it stays over its floor: 60 dB under the loudest partial, or 8 dB over what is
left of it at the end of the recording. The model's slope is taken over the very times that its partner's was.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, sosfilt
from sound_measures import RANGE_DB, RATE

HOP = 512
PERIODS, SHORTEST_FRAME = 4.0, 1024
WINDOWS_S = ((0.05, 0.8), (0.8, 2.6))  # the first part of a note, the rest of it
SHORTEST_FIT_S = 0.12
MODEL_RANGE_DB = 90.0
MOST_PARTIALS, HIGHEST_HZ = 40, 8000.0
HEARD_S = 3.0  # what of a note is looked at
FIRST_STRETCH, MOST_STRETCH = 4e-5, 5e-4
FAINT = 1e-3  # a partial 60 dB under the strongest says nothing of stiffness
OVER_FLOOR_DB = 8.0
OCTAVES_HZ = (125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0)
BAND_FRAME_S, BAND_FALL_DB = 0.02, 30.0
SLOWEST_DB_PER_S = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Partials:
    """The partials of a note, from the first: Hz (partials,); level in dB re the loudest (partials, frames) at times in
    s (frames,); the floor under which each is not itself, dB (partials,); inharmonicity B.
    """

    frequency_hz: np.ndarray
    level_db: np.ndarray
    time_s: np.ndarray
    floor_db: np.ndarray
    inharmonicity: float


def partials(sound, pitch_midi: float) -> Partials:
    """Each partial's frequency from one long spectrum, its envelope at just that frequency."""
    sound = np.asarray(sound, dtype=np.float64)[: int(HEARD_S * RATE)]
    f0_hz = 440.0 * 2.0 ** ((pitch_midi - 69.0) / 12.0)
    frequency_hz, stretch = _frequencies(sound, f0_hz)
    time_s, level_db = _envelopes(sound, frequency_hz, max(int(PERIODS * RATE / f0_hz), SHORTEST_FRAME))
    level_db = level_db - level_db.max()
    left_db = np.median(level_db[:, -max(level_db.shape[1] // 12, 4) :], axis=1)
    floor_db = np.maximum(left_db + OVER_FLOOR_DB, -RANGE_DB)
    return Partials(
        frequency_hz=frequency_hz, level_db=level_db, time_s=time_s, floor_db=floor_db, inharmonicity=stretch
    )


def _frequencies(sound, f0_hz: float) -> tuple[np.ndarray, float]:
    """Peaks near n f0, each looked for where the stiffness found from those below puts it."""
    piece = sound[int(0.02 * RATE) :][:RATE]
    size = 1 << 17
    magnitude = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), size))
    step_hz, stretch = RATE / size, FIRST_STRETCH
    found: list[float] = []
    for n in range(1, MOST_PARTIALS + 1):
        guess_hz = n * f0_hz * np.sqrt((1.0 + stretch * n * n) / (1.0 + stretch))
        if guess_hz > HIGHEST_HZ:
            break
        reach_hz = max(0.006 * guess_hz, 3.0)
        low = int((guess_hz - reach_hz) / step_hz)
        peak = low + int(magnitude[low : int((guess_hz + reach_hz) / step_hz) + 2].argmax())
        found.append((peak + _between_bins(magnitude[peak - 1 : peak + 2])) * step_hz)
        if n >= 4 and magnitude[peak] > FAINT * magnitude.max():
            stretch = _stretch(np.array(found), magnitude, step_hz)
    return np.array(found), stretch


def _between_bins(around) -> float:
    """Where between three bins the peak lies: a parabola through their levels."""
    low, middle, high = np.log(around + 1e-12)
    return float(np.clip(0.5 * (low - high) / (low - 2.0 * middle + high - 1e-12), -1.0, 1.0))


def _stretch(frequency_hz, magnitude, step_hz: float) -> float:
    """B of (f_n / n)^2 = c (1 + B n^2) by least squares; loud partials and high ones weigh more, lost ones nothing."""
    number = np.arange(1, len(frequency_hz) + 1, dtype=float)
    size = magnitude[np.round(frequency_hz / step_hz).astype(int)]
    weight = np.where(size > FAINT * magnitude.max(), number * np.sqrt(size), 0.0)
    slope, level = np.polyfit(number**2, (frequency_hz / number) ** 2, 1, w=weight)
    return float(np.clip(slope / level, 0.0, MOST_STRETCH))


def _envelopes(sound, frequency_hz, size: int) -> tuple[np.ndarray, np.ndarray]:
    """The middles of Hann frames in s, and the level in dB at each frequency in each, (frequencies, frames)."""
    padded = np.concatenate((np.zeros(size // 2), sound))
    starts = np.arange(0, len(padded) - size, HOP)
    frames = np.ascontiguousarray(np.lib.stride_tricks.sliding_window_view(padded, size)[starts])
    angle = 2.0 * np.pi * np.outer(np.arange(size), frequency_hz) / RATE
    window = np.hanning(size)[:, None]
    power = (frames @ (window * np.cos(angle))) ** 2 + (frames @ (window * np.sin(angle))) ** 2
    return starts / RATE, 10.0 * np.log10(power.T / size**2 + 1e-14)


def falls_db_per_s(note: Partials, between_s=WINDOWS_S[0]) -> tuple[np.ndarray, np.ndarray]:
    """How fast each partial falls, (partials,), nan where too short; the times used, s (partials, 2)."""
    fall, used = np.full(len(note.frequency_hz), np.nan), np.zeros((len(note.frequency_hz), 2))
    for i, (level, floor) in enumerate(zip(note.level_db, note.floor_db, strict=True)):
        inside = (note.time_s >= between_s[0]) & (note.time_s < between_s[1])
        under = np.flatnonzero(inside & (level < floor))
        if len(under):
            inside[under[0] :] = False
        if inside.sum() * HOP / RATE >= SHORTEST_FIT_S:
            fall[i] = -np.polyfit(note.time_s[inside], level[inside], 1)[0]
            used[i] = note.time_s[inside][[0, -1]]
    return fall, used


def _falls_over(note: Partials, used) -> np.ndarray:
    """The same of a model, each partial over given times."""
    fall = np.full(len(note.frequency_hz), np.nan)
    for i, (level, (start_s, stop_s)) in enumerate(zip(note.level_db, used, strict=False)):
        inside = (note.time_s >= start_s) & (note.time_s <= stop_s) & (level > -MODEL_RANGE_DB)
        if stop_s > start_s and inside.sum() > 5:
            fall[i] = -np.polyfit(note.time_s[inside], level[inside], 1)[0]
    return fall


def decay_errors(real: Partials, model: Partials, between_s=WINDOWS_S[0]) -> tuple[np.ndarray, np.ndarray]:
    """Error of the model's fall in dB/s, and log of its ratio to the real one, of every partial that both have."""
    wanted, used = falls_db_per_s(real, between_s)
    got = _falls_over(model, used)
    count = min(len(wanted), len(got))
    wanted, got = wanted[:count], got[:count]
    both = np.isfinite(wanted) & np.isfinite(got) & (wanted > 1.0)
    wanted, got = wanted[both], np.maximum(got[both], SLOWEST_DB_PER_S)
    return got - wanted, np.log(got / wanted)


def band_falls_db_per_s(sound) -> np.ndarray:
    """Fall of each octave band from 50 ms on, over its first 30 dB or to its floor; nan where too short.

    Thirty divided by it is the band's T30.
    """
    sound = np.asarray(sound, dtype=np.float64)[: int(HEARD_S * RATE)]
    levels = [_band_level(sound, centre_hz) for centre_hz in OCTAVES_HZ]
    top = max(level.max() for level in levels)
    return np.array([_first_fall(level[round(0.05 / BAND_FRAME_S) :], top) for level in levels])


def _band_level(sound, centre_hz: float) -> np.ndarray:
    edges = (centre_hz / 2**0.5, centre_hz * 2**0.5)
    band = sosfilt(butter(4, edges, "bandpass", fs=RATE, output="sos"), sound)
    frame = int(BAND_FRAME_S * RATE)
    count = len(band) // frame
    return 10.0 * np.log10(np.mean(band[: count * frame].reshape(count, frame) ** 2, axis=1) + 1e-14)


def _first_fall(level, top: float) -> float:
    left = np.median(level[-max(len(level) // 10, 1) :]) + OVER_FLOOR_DB
    under = np.flatnonzero(level < max(top - RANGE_DB, left, level[0] - BAND_FALL_DB))
    stop = int(under[0]) if len(under) else len(level)
    if stop * BAND_FRAME_S < SHORTEST_FIT_S:
        return np.nan
    return float(-np.polyfit(np.arange(stop) * BAND_FRAME_S, level[:stop], 1)[0])


def band_ratios(real_sound, model_sound) -> np.ndarray:
    """Log of the model's band decay to the real one, of the bands that both have."""
    real, model = band_falls_db_per_s(real_sound), band_falls_db_per_s(model_sound)
    both = np.isfinite(real) & np.isfinite(model) & (real > SLOWEST_DB_PER_S)
    return np.log(np.maximum(model[both], SLOWEST_DB_PER_S) / real[both])

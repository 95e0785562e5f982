"""Where a known track lies in a take, and how fast the take's clock runs against it.

Blocks of the take are correlated with the track with phase alone (GCC-PHAT: Knapp and Carter, The generalized
correlation method for estimation of time delay, 1976; cited from memory). All lags and clock rates are tried on the
blocks together, as lines through (block, lag); the best is made finer at the full rate by a line through the peaks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import soxr
from scipy.fft import irfft, next_fast_len, rfft
from scipy.ndimage import maximum_filter1d

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]
    WideArray = NDArray[np.float64]

REACH_S = 10.0  # a lag may be this large, either way
MOST_DRIFT = 250e-6  # two crystals of 100 parts in a million each, and some more
COARSE_RATE, BLOCK_S, CELL_S = 4_000, 8.0, 0.002
FINE_BLOCK_S, FINE_REACH_S = 8.0, 0.008
SURE_PEAK, LEAST_PEAK = 2.5, 1.3  # best line against the best elsewhere: see ``find_lag``
ELSEWHERE_S = 0.15  # further from the best than this counts as elsewhere


@dataclass(frozen=True, slots=True, kw_only=True)
class Lag:
    """lag_s: of the track's first sample in the take; stretch: track seconds in the take; confidence: 0..1."""

    lag_s: float
    stretch: float
    confidence: float


def find_lag(take: FloatArray, track: FloatArray, rate: int) -> Lag | None:
    """The best lag within ``REACH_S``; None when none stands out, or there is nothing to compare.

    On 14 rendered takes the right track stood out by 1.7 to 4.9 (30 dB below the lead: 1.7 to 3.6), a wrong one by 1.0
    to 1.65, the right one of a take without any track by 1.0 to 1.3. Where choruses repeat it stands out less.
    """
    if min(len(take), len(track)) < rate or not (np.any(take) and np.any(track)):
        return None
    low_take, low_track = (soxr.resample(audio, rate, COARSE_RATE) for audio in (take, track))
    size = int(BLOCK_S * COARSE_RATE)
    starts = range(0, max(1, len(low_take) - size // 2), size)
    maps = np.array([_cells(low_take[at : at + size], low_track, at) for at in starts])
    lag_s, drift, sharpness = _best_line(maps, np.array(starts) / COARSE_RATE)
    if sharpness < LEAST_PEAK:
        return None
    lag_s, first = _finer(take, track, rate, lag_s, drift)
    on_clock = soxr.resample(track, rate, rate * (1.0 + first))
    lag_s, second = _finer(take, on_clock, rate, lag_s, 0.0)  # within a block nothing drifts now
    confidence = float(np.clip((sharpness - LEAST_PEAK) / (SURE_PEAK - LEAST_PEAK), 0.0, 1.0))
    return Lag(lag_s=lag_s, stretch=(1.0 + first) * (1.0 + second), confidence=confidence)


def _padded(audio: FloatArray, start: int, end: int) -> FloatArray:
    out = np.zeros(end - start, dtype=np.float32)
    found = audio[max(0, start) : max(0, end)]
    out[max(0, -start) : max(0, -start) + len(found)] = found
    return out


def _phat(block: FloatArray, around: FloatArray) -> FloatArray:
    """Correlation, phase alone, at shifts 0..len(around) - len(block)."""
    size = next_fast_len(len(around) + len(block))
    cross = rfft(around, size) * rfft(block, size).conj()
    magnitude = np.abs(cross)
    cross /= magnitude + 1e-3 * float(magnitude.mean()) + 1e-20
    return np.asarray(irfft(cross, size)[: len(around) - len(block) + 1], dtype=np.float32)


def _cells(block: FloatArray, track: FloatArray, at: int) -> FloatArray:
    """The strongest correlation in every cell of lags -REACH_S..REACH_S, scaled to its own noise."""
    reach = int(REACH_S * COARSE_RATE)
    found = np.abs(_phat(block, _padded(track, at - reach, at + reach + len(block))))[::-1]
    noise = float(np.sqrt(np.mean(found**2)))
    cell = int(CELL_S * COARSE_RATE)
    strongest = found[: len(found) // cell * cell].reshape(-1, cell).max(axis=1)
    return np.asarray(np.minimum(strongest / (noise + 1e-20), 50.0), dtype=np.float32)


def _best_line(maps: FloatArray, starts_s: WideArray) -> tuple[float, float, float]:
    """Lag at the take's start, drift, and how far the best line stands out from the best elsewhere (its mean out)."""
    wide = maximum_filter1d(maps, 3, axis=1)
    span_s = max(float(starts_s[-1]), BLOCK_S)
    steps = max(1, int(np.ceil(MOST_DRIFT * span_s / CELL_S)))
    drifts = np.linspace(-MOST_DRIFT, MOST_DRIFT, 2 * steps + 1)
    sums = np.array([_along(wide, starts_s, drift) for drift in drifts])
    row, column = np.unravel_index(int(sums.argmax()), sums.shape)
    per_lag = sums.max(axis=0)
    far = np.abs(np.arange(len(per_lag)) - column) > ELSEWHERE_S / CELL_S
    middle = float(np.median(per_lag))
    sharpness = (float(per_lag[column]) - middle) / (float(per_lag[far].max()) - middle + 1e-9)
    return (column + 0.5) * CELL_S - REACH_S, float(drifts[row]), sharpness


def _along(maps: FloatArray, starts_s: WideArray, drift: float) -> FloatArray:
    total = np.zeros(maps.shape[1], dtype=np.float32)
    for row, start_s in zip(maps, starts_s, strict=True):
        total += np.roll(row, -round(drift * (start_s + BLOCK_S / 2) / CELL_S))
    return total


def _finer(take: FloatArray, track: FloatArray, rate: int, lag_s: float, drift: float) -> tuple[float, float]:
    """A line through the peaks of single blocks, each weighed by its height, outliers left out."""
    size, reach = int(FINE_BLOCK_S * rate), int(FINE_REACH_S * rate)
    at_s, lags_s, heights = [], [], []
    for at in range(0, max(1, len(take) - size // 2), size):
        block = take[at : at + size]
        middle_s = (at + len(block) / 2) / rate
        guess = round((lag_s + drift * middle_s) * rate)
        found = np.abs(_phat(block, _padded(track, at - guess - reach, at - guess + reach + len(block))))
        peak = int(found.argmax())
        if 0 < peak < len(found) - 1:
            at_s.append(middle_s)
            lags_s.append((guess + reach - peak - _vertex(found[peak - 1 : peak + 2])) / rate)
            heights.append(float(found[peak] / (np.median(found) + 1e-20)))
    if not at_s:
        return lag_s, drift
    return _line(np.array(at_s), np.array(lags_s), np.array(heights), lag_s, drift)


def _vertex(three: FloatArray) -> float:
    left, top, right = (float(value) for value in three)
    bend = left - 2.0 * top + right
    return 0.5 * (left - right) / bend if bend < 0.0 else 0.0


def _line(at_s: WideArray, lags_s: WideArray, heights: WideArray, lag_s: float, drift: float) -> tuple[float, float]:
    """Iterated weighted least squares; the lag is the line's value where the track's time is zero."""
    good = np.ones(len(at_s), dtype=bool)
    slope, start = drift, lag_s
    for _ in range(4):
        if good.sum() < 3:
            start = float(np.median(lags_s[good] - slope * at_s[good])) if good.any() else lag_s
            break
        slope, start = (float(value) for value in np.polyfit(at_s[good], lags_s[good], 1, w=heights[good]))
        off_s = np.abs(lags_s - start - slope * at_s)
        good = off_s <= max(3.0 * float(np.median(off_s)), 1e-4)
    if abs(slope) > 1.5 * MOST_DRIFT:
        slope, start = drift, float(np.median(lags_s - drift * at_s))
    return start / (1.0 - slope), slope / (1.0 - slope)

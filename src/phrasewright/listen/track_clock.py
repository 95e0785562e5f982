"""How fast a short take's clock runs against its track: by what explains most of the take.

A line through few peaks errs by some milliseconds over half a minute, enough that nothing cancels. So clock rates are
tried: for each, the track is laid on the take so that both agree in the middle, a short filter is fitted by least
squares at a low rate, and the rate with which most of the take is explained is kept. Long takes need no trying.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import soxr
from scipy.fft import irfft, next_fast_len, rfft
from scipy.linalg import solve_toeplitz

from phrasewright.listen.track_lag import Lag

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

RATE_HZ = 4_000
TAPS, EARLY_S = 320, 0.02  # the filter reaches from 20 ms before the lag to 60 ms after
LONG_S = 120.0  # of take and track together: a line through the peaks is surer then
WIDE_PPM, WIDE_STEP_PPM, FINE_STEP_PPM = 250.0, 25.0, 5.0
RIDGE = 1e-2


def clocked(take: FloatArray, track: FloatArray, rate: int, lag: Lag) -> Lag:
    """The lag with the clock rate that explains most; as it is for long takes."""
    length_s = len(take) / rate
    if length_s > LONG_S:
        return lag
    low_take = _brightened(soxr.resample(take, rate, RATE_HZ))
    low_track = _brightened(soxr.resample(track, rate, RATE_HZ))
    middle_s = length_s / 2
    in_track_s = (middle_s - lag.lag_s) / lag.stretch

    def at(ppm: float) -> Lag:
        stretch = 1.0 + ppm * 1e-6
        return replace(lag, lag_s=middle_s - stretch * in_track_s, stretch=stretch)

    def explained(ppm: float) -> float:
        return _explained(low_take, low_track, at(ppm))

    best = max(np.arange(-WIDE_PPM, WIDE_PPM + 1, WIDE_STEP_PPM), key=explained)
    around = np.arange(best - WIDE_STEP_PPM, best + WIDE_STEP_PPM + 1, FINE_STEP_PPM)
    return at(float(max(around, key=explained)))


def _brightened(audio: FloatArray) -> FloatArray:
    """Differences from sample to sample: evens out a spectrum that falls."""
    return np.diff(audio, prepend=audio[:1])


def _explained(take: FloatArray, track: FloatArray, lag: Lag) -> float:
    """How much of a take's power the best short filter of the track accounts for."""
    laid = laid_on(track, lag, len(take), RATE_HZ, early_s=EARLY_S).astype(np.float64)
    size = next_fast_len(len(take) + TAPS)
    known = rfft(laid, size)
    own = irfft(np.abs(known) ** 2, size)[:TAPS]
    cross = irfft(rfft(take.astype(np.float64), size) * known.conj(), size)[:TAPS]
    own[0] = own[0] * (1.0 + RIDGE) + 1e-12
    return float(np.dot(solve_toeplitz(own, cross), cross))


def laid_on(track: FloatArray, lag: Lag, length: int, rate: int, *, early_s: float) -> FloatArray:
    """The track on a take's clock, so many seconds before its lag, cut to ``length`` samples."""
    on_clock = soxr.resample(track, rate, rate * lag.stretch).astype(np.float32, copy=False)
    at = round((lag.lag_s - early_s) * rate)
    out = np.zeros(length, dtype=np.float32)
    source = on_clock[max(0, -at) : max(0, length - at)]
    out[max(0, at) : max(0, at) + len(source)] = source
    return out

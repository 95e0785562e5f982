"""What the listening network sees: a take in three log-frequency spectra, one short, one medium, one long.

A frame is taken every 12.5 ms (200 samples at 16 kHz), centred there. Short windows tell when, long ones tell how high:
512, 2,048 and 4,096 samples (32, 128, 256 ms). Each is read at 276 frequencies, three to a semitone from MIDI 28 less a
third of a semitone, so that a semitone is one row of three. Amplitudes are in dB, scaled to about -2..2.
The windows and the grid are our own design; that harmonics lie at fixed distances on a log axis is common knowledge.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.fft import rfft
from scipy.sparse import csr_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

RATE_HZ = 16_000
HOP = 200
FRAME_S = HOP / RATE_HZ
WINDOWS = (512, 2_048, 4_096)
LOWEST_ROW_MIDI = 28  # E1, the lowest string of a bass
SEEN_ROWS = 92  # semitones that are looked at: up to 7.9 kHz
ROWS = 64  # semitones that a note may have: up to G6
THIRDS = 3
FLOOR = 1e-5
DB_MIDDLE, DB_SPAN = -60.0, 30.0
USUAL_LEVEL = 0.1  # rms that a take is brought to where it sounds
SOUNDING_DB = -30.0  # against its loudest moment


def levelled(audio: FloatArray) -> FloatArray:
    """A take brought to the usual level; silence stays silence. audio: float32 (n,) at ``RATE_HZ``."""
    if len(audio) < HOP:
        return audio
    power = frame_power(audio)
    loud = power[power >= power.max() * 10.0 ** (SOUNDING_DB / 10.0)]
    rms = float(np.sqrt(loud.mean()))
    return np.asarray(audio * np.float32(USUAL_LEVEL / rms), dtype=np.float32) if rms > 1e-7 else audio


def frame_power(audio: FloatArray) -> FloatArray:
    """Mean square of every whole ``HOP`` of a take: float32 (len(audio) // HOP,)."""
    pieces = audio[: len(audio) // HOP * HOP].reshape(-1, HOP)
    return np.asarray(np.einsum("ij,ij->i", pieces, pieces) / HOP, dtype=np.float32)


def spectra(audio: FloatArray, first: int, last: int) -> FloatArray:
    """Frames ``first`` up to ``last`` of a levelled take: float32 (9, last - first, ``SEEN_ROWS``).

    The nine planes are the three windows, each with the lower, middle and upper third of its semitones. Frames outside
    the take see silence.
    """
    planes = [_plane(audio, window, first, last) for window in WINDOWS]
    stacked = np.stack(planes)  # (3, frames, 276)
    thirds = stacked.reshape(len(WINDOWS), last - first, SEEN_ROWS, THIRDS)
    return np.ascontiguousarray(thirds.transpose(0, 3, 1, 2)).reshape(-1, last - first, SEEN_ROWS)


def _plane(audio: FloatArray, window: int, first: int, last: int) -> FloatArray:
    start, stop = first * HOP - window // 2, (last - 1) * HOP + window // 2
    piece = np.zeros(stop - start, dtype=np.float32)
    inside = slice(max(start, 0), min(stop, len(audio)))
    if inside.start < inside.stop:
        piece[inside.start - start : inside.stop - start] = audio[inside]
    frames = np.lib.stride_tricks.sliding_window_view(piece, window)[::HOP]
    amplitudes = (bank(window) @ np.abs(rfft(frames * hann(window), axis=1)).T).T
    levels_db = 20.0 * np.log10(amplitudes + np.float32(FLOOR))
    return np.asarray((levels_db - DB_MIDDLE) / DB_SPAN, dtype=np.float32)


@lru_cache
def hann(window: int) -> FloatArray:
    """The window, scaled so that a sine of amplitude 1 reads 0.5."""
    shape = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(window) / window)
    return np.asarray(shape / shape.sum(), dtype=np.float32)


@lru_cache
def bank(window: int) -> csr_array:
    """Weights that read a spectrum at the grid: sparse float32 (276, window // 2 + 1), rows sum to 1 or 0.

    Triangles as wide as the grid is there, or as two bins where bins are wider.
    """
    bins_hz = np.arange(window // 2 + 1) * RATE_HZ / window
    steps = LOWEST_ROW_MIDI + (np.arange(SEEN_ROWS * THIRDS) - 1) / THIRDS
    centres_hz = 440.0 * 2.0 ** ((steps - 69.0) / 12.0)
    widths_hz = np.maximum(centres_hz * (2.0 ** (1.0 / 36.0) - 1.0), RATE_HZ / window)
    weights = np.maximum(0.0, 1.0 - np.abs(bins_hz - centres_hz[:, None]) / widths_hz[:, None])
    totals = weights.sum(axis=1, keepdims=True)
    shares = np.divide(weights, totals, out=np.zeros_like(weights), where=totals > 0)
    return csr_array(shares.astype(np.float32))

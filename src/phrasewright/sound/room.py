"""One small room for the whole band.

A handful of early reflections and a feedback delay network (eight delay lines mixed by a Householder matrix, each
losing more at high frequencies) give a stereo impulse response; the mix convolves its sends with it, and so does a
browser: both hear exactly the same room. Delay networks: Jot & Chaigne, "Digital delay
networks for designing artificial reverberators", AES 90 (1991), from memory. The lines are longer than a block, so
a block of the network is computed at once.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.signal import lfilter, sosfilt

from phrasewright.sound.filters import highpass
from phrasewright.sound.modes import AudioArray, FloatArray

T60_S = 0.75  # at low frequencies: a dry rehearsal room
DAMPING = 0.38  # one-pole loss per pass: T60 at 5 kHz is about half
DELAYS_MS = (23.3, 27.1, 31.9, 35.3, 39.7, 43.1, 47.9, 53.1)  # mutually prime in samples, none a multiple
EARLY = (  # ms, gain left, gain right: common practice, no real room is meant
    (6.9, 0.42, 0.30), (10.7, -0.25, 0.36), (15.1, 0.33, -0.18), (19.9, 0.15, 0.27), (26.3, -0.20, 0.16),
    (33.7, 0.14, -0.17),
)  # fmt: skip
LATE_GAIN = 0.55
LENGTH_S = 0.9
LOW_CUT_HZ = 180.0  # keep the bass dry


@lru_cache(maxsize=4)
def impulse_response(sample_rate: int) -> AudioArray:
    """The room's answer to one sample of 1.0. Returns read-only float32 (n, 2), energy 1 per channel on average."""
    length = int(LENGTH_S * sample_rate)
    response = _early(length, sample_rate) + LATE_GAIN * _late(length, sample_rate)
    response = np.asarray(sosfilt(highpass(LOW_CUT_HZ, sample_rate, 2), response, axis=0))
    fade = int(0.1 * sample_rate)
    response[-fade:] *= (0.5 + 0.5 * np.cos(np.pi * np.arange(1, fade + 1) / fade))[:, None]
    unit: AudioArray = (response / np.sqrt(np.sum(response**2) / 2.0)).astype(np.float32)
    unit.setflags(write=False)
    return unit


def _early(length: int, sample_rate: int) -> FloatArray:
    out = np.zeros((length, 2))
    for delay_ms, left, right in EARLY:
        out[int(delay_ms * sample_rate / 1000.0)] += (left, right)
    return out


def _late(length: int, sample_rate: int) -> FloatArray:
    delays = np.array([int(ms * sample_rate / 1000.0) | 1 for ms in DELAYS_MS])
    block, count = int(delays.min()), len(delays)
    gain = 10.0 ** (-3.0 * delays / (T60_S * sample_rate))
    lines = np.zeros((count, length + int(delays.max()) + block))
    lines[:, 0] = 1.0 / np.sqrt(count)
    memory = np.zeros((count, 1))
    out = np.zeros((length + block, count))
    for start in range(0, length, block):
        read = np.stack([lines[k, start : start + block] for k in range(count)])
        read, memory = lfilter([1.0 - DAMPING], [1.0, -DAMPING], read * gain[:, None], axis=1, zi=memory)
        out[start : start + block] = read.T
        mixed = read - (2.0 / count) * read.sum(axis=0)
        for k, delay in enumerate(delays):
            lines[k, start + delay : start + delay + block] += mixed[k]
    signs = np.array([[1, 1], [-1, 1], [1, -1], [1, 1], [-1, -1], [1, -1], [-1, 1], [1, -1]], dtype=np.float64)
    shifted = np.concatenate((np.zeros((block, count)), out))[:length]
    return np.asarray(shifted @ signs / np.sqrt(count))

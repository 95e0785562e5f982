"""A guitar amplifier driven into soft saturation, and its loudspeaker.

The string's sound loses its bass, is bent by a smooth curve (a hyperbolic tangent a little off its centre, so that
even harmonics come too), and leaves through a loudspeaker that carries little over a few kHz (common practice). A
curve makes harmonics without end; what lies over half the sample rate would fold back as tones out of tune, so the
bending is done at ``OVERSAMPLING`` times the rate and what is too high is taken out before the way back.

Bending squeezes: a note that dies away by 20 dB loses less than half of that, a driven amplifier's sustain.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import soxr
from scipy.signal import sosfilt

from phrasewright.sound.filters import highpass, lowpass

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

OVERSAMPLING = 2
QUALITY = "LQ"  # of the resampler: what it leaves lies 80 dB down or beyond the speaker
STRING_RMS = 0.5**0.5  # of a stroke's first swings, as ``strings.string_modes`` scales them
SOFTEST = 0.4  # share of the gain that a stroke of no force keeps


@dataclass(frozen=True, slots=True, kw_only=True)
class Overdrive:
    """An amplifier: gain into the curve at full velocity, its offset from the middle, corners in Hz."""

    gain: float
    offset: float
    bass_cut_hz: float
    speaker_low_hz: float
    speaker_high_hz: float


LIGHT = Overdrive(gain=14.0, offset=0.15, bass_cut_hz=140.0, speaker_low_hz=80.0, speaker_high_hz=4800.0)


def overdrive(amplifier: Overdrive, sound: FloatArray, velocity: float, sample_rate: int) -> FloatArray:
    """The sound through the amplifier: float64 (n,), as loud at the start whatever the gain. Onset stays in place."""
    gain = amplifier.gain * (SOFTEST + (1.0 - SOFTEST) * velocity)
    lean = sosfilt(highpass(amplifier.bass_cut_hz, sample_rate), sound)
    fine = soxr.resample(lean.astype(np.float32), 1, OVERSAMPLING, quality=QUALITY)
    bent = _curve(gain * fine, amplifier.offset) / np.float32(level_after(gain, amplifier.offset))
    coarse = soxr.resample(bent, OVERSAMPLING, 1, quality=QUALITY)[: len(sound)]
    return np.asarray(sosfilt(_speaker(amplifier, sample_rate), coarse.astype(np.float64)))


@lru_cache(maxsize=64)
def level_after(gain: float, offset: float) -> float:
    """Root mean square of noise as strong as a fresh stroke after the curve, re that of the stroke: float."""
    value = np.linspace(-5.0, 5.0, 2001)
    weight = np.exp(-0.5 * value**2)
    bent = _curve((gain * STRING_RMS * value).astype(np.float32), offset)
    mean = np.average(bent, weights=weight)
    return float(np.sqrt(np.average((bent - mean) ** 2, weights=weight)) / STRING_RMS)


def _curve(value: AudioArray, offset: float) -> AudioArray:
    return np.asarray(np.tanh(value + np.float32(offset)) - np.float32(np.tanh(offset)))


@lru_cache(maxsize=64)
def _speaker(amplifier: Overdrive, sample_rate: int) -> FloatArray:
    high = lowpass(amplifier.speaker_high_hz, sample_rate, 4)
    return np.concatenate((high, highpass(amplifier.speaker_low_hz, sample_rate, 2)))

"""Small filters the voices share, designed once per corner and rate.

All return second-order sections, float64 (sections, 6), for ``scipy.signal.sosfilt``.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import butter

if TYPE_CHECKING:
    from phrasewright.sound.modes import FloatArray


@lru_cache(maxsize=256)
def lowpass(corner_hz: float, sample_rate: int, order: int = 2) -> FloatArray:
    """Butterworth low-pass."""
    return np.asarray(butter(order, corner_hz, btype="lowpass", fs=sample_rate, output="sos"))


@lru_cache(maxsize=256)
def highpass(corner_hz: float, sample_rate: int, order: int = 1) -> FloatArray:
    """Butterworth high-pass; of the first order it also takes out any DC."""
    return np.asarray(butter(order, corner_hz, btype="highpass", fs=sample_rate, output="sos"))


@lru_cache(maxsize=256)
def bandpass(low_hz: float, high_hz: float, sample_rate: int, order: int = 2) -> FloatArray:
    """Butterworth band-pass, ``order`` per side."""
    return np.asarray(butter(order, (low_hz, high_hz), btype="bandpass", fs=sample_rate, output="sos"))

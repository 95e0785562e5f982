"""How a note begins and dies away: a plectrum's click, a finger's touch, a thud.

A plectrum or a plucking finger starts the highs of a string within a millisecond or two; on a string that a fretting
finger hammers, pulls or slides on they go on from where they are, or rise slowly (common practice). What is measured
is how the highs jump, rise and fall around the onset; ``WEIGHTS`` turn it into the odds of a stroke. They are a
logistic regression by ``tools/fit_attack.py``, on lines of the string models and on takes assembled from sampled notes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from phrasewright.listen.hear.pitch_curve import HEAR_RATE_HZ

FloatArray = NDArray[np.float64]

BANDS_HZ = ((80.0, 500.0), (500.0, 1500.0), (1500.0, 3500.0), (3500.0, 7500.0))
BEFORE_S = (-0.040, -0.015)  # around the onset, which is known to about 5 ms
AFTER_S = (0.040, 0.070)
NEAR_S = (-0.010, 0.018)
BURST_S, STEP_S = 0.002, 0.0005
BACK_S = (0.003, 0.004, 0.005, 0.006)  # a jump is measured against the loudest of these moments before
FALL_S = (0.08, 0.11)  # a dead string is silent by then
FLOOR = 1e-9  # power under which all is silence
FEATURES = tuple(f"{what} {low:g}" for low, _ in BANDS_HZ for what in ("rise", "drop", "dip", "leap", "jump", "after"))
LIMITS_DB = ((-5.0, 30.0), (-10.0, 30.0), (-25.0, 5.0), (0.0, 30.0), (-5.0, 30.0), (-20.0, 20.0)) * len(BANDS_HZ)
WEIGHTS = (
    0.0342,
    0.1698,
    -0.0396,
    -0.0093,
    0.1251,
    0.0939,
    -0.0272,
    -0.0073,
    -0.0378,
    -0.0322,
    0.0204,
    0.0133,
    -0.0852,
    0.0074,
    0.0514,
    -0.0384,
    0.0322,
    -0.0505,
    -0.0920,
    -0.1378,
    -0.0733,
    0.0626,
    0.2626,
    0.0083,
)
BIAS = -1.3634


@dataclass(frozen=True, slots=True, kw_only=True)
class Attack:
    """How one note begins. features_db: as ``FEATURES`` lists them; fall_db: of its whole level in a tenth of a second."""

    features_db: tuple[float, ...]
    fall_db: float

    @property
    def struck(self) -> float:
        """The odds, 0..1, that the string was struck."""
        return float(1.0 / (1.0 + np.exp(-(BIAS + np.dot(WEIGHTS, self.features_db)))))

    @property
    def jump_db(self) -> float:
        """How far the highest band jumps within a few milliseconds."""
        return self.features_db[-2]


def attack_strength(audio: NDArray[np.float32], onset_s: float) -> float:
    """How far the highs jump at an onset, in dB: near 0 where a string only sounds on."""
    return attacks_of(audio, [onset_s])[0].jump_db


def attacks_of(audio: NDArray[np.float32], onsets_s: Sequence[float]) -> tuple[Attack, ...]:
    """The attack of every note of a take. audio: float32 (n,) at ``HEAR_RATE_HZ``."""
    onsets = np.asarray(onsets_s, dtype=np.float64)
    features = np.concatenate([_features(_band(audio, band), onsets) for band in BANDS_HZ], axis=1)
    features = np.clip(features, *np.array(LIMITS_DB).T)
    whole = _summed(audio)
    fall_db = _level_db(whole, onsets, onsets + 0.03) - _level_db(whole, onsets + FALL_S[0], onsets + FALL_S[1])
    return tuple(
        Attack(features_db=tuple(row), fall_db=float(fall))
        for row, fall in zip(features.tolist(), fall_db, strict=True)
    )


def _band(audio: NDArray[np.float32], band_hz: tuple[float, float]) -> FloatArray:
    """Running power of a band."""
    return _summed(sosfilt(butter(2, band_hz, "bandpass", fs=HEAR_RATE_HZ, output="sos"), audio))


def _summed(signal: NDArray[np.floating]) -> FloatArray:
    """Running sum of a signal's power, so that any stretch costs the same."""
    return np.concatenate([[0.0], np.cumsum(signal.astype(np.float64) ** 2)])


def _level_db(summed: FloatArray, from_s: FloatArray, to_s: FloatArray) -> FloatArray:
    """Mean level of stretches."""
    first, last = (
        np.clip(np.round(time_s * HEAR_RATE_HZ).astype(np.intp), 0, len(summed) - 1) for time_s in (from_s, to_s)
    )
    power = (summed[last] - summed[first]) / np.maximum(last - first, 1)
    return np.asarray(10.0 * np.log10(power + FLOOR))


def _features(summed: FloatArray, onsets_s: FloatArray) -> FloatArray:
    """Of one band, (notes, 6): loudest moment over before and over after, deepest dip, sharpest leap over the moment 4
    ms earlier and jump over all of ``BACK_S``, after against before.
    """
    before_db = _level_db(summed, onsets_s + BEFORE_S[0], onsets_s + BEFORE_S[1])
    after_db = _level_db(summed, onsets_s + AFTER_S[0], onsets_s + AFTER_S[1])

    def moments_db(from_s: float, to_s: float) -> FloatArray:
        starts_s = onsets_s[:, None] + np.arange(from_s, to_s - BURST_S + 1e-9, STEP_S)
        return _level_db(summed, starts_s, starts_s + BURST_S)

    near_db = moments_db(*NEAR_S)
    earlier_db = np.array([moments_db(NEAR_S[0] - back_s, NEAR_S[1] - back_s) for back_s in BACK_S])
    loudest_db = near_db.max(axis=1)
    dip_db = moments_db(NEAR_S[0] - 0.015, NEAR_S[1]).min(axis=1)
    return np.stack(
        [
            loudest_db - before_db,
            loudest_db - after_db,
            dip_db - before_db,
            (near_db - earlier_db[1]).max(axis=1),
            (near_db - earlier_db.max(axis=0)).max(axis=1),
            after_db - before_db,
        ],
        axis=1,
    )

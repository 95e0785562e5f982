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

from phrasewright.listen.hear.spectrum import RATE_HZ

FloatArray = NDArray[np.float64]

BANDS_HZ = ((80.0, 500.0), (500.0, 1500.0), (1500.0, 3500.0), (3500.0, 7500.0))
BEFORE_S = (-0.040, -0.015)  # around the onset, which is known to about 5 ms
AFTER_S = (0.040, 0.070)
NEAR_S = (-0.010, 0.018)
LEAD_S = 0.015  # a dip is looked for so long before that
STEP = 8  # samples
STEP_S = STEP / RATE_HZ
BURST_S = 4 * STEP_S
BACK = (6, 8, 10, 12)  # steps: a jump is measured against the loudest of these moments before
FALL_S = (0.08, 0.11)  # a dead string is silent by then
BLOCK = 2**18  # samples filtered at once, a multiple of ``STEP``
FLOOR = 1e-9  # power under which all is silence
FEATURES = tuple(f"{what} {low:g}" for low, _ in BANDS_HZ for what in ("rise", "drop", "dip", "leap", "jump", "after"))
LIMITS_DB = ((-5.0, 30.0), (-10.0, 30.0), (-25.0, 5.0), (0.0, 30.0), (-5.0, 30.0), (-20.0, 20.0)) * len(BANDS_HZ)
WEIGHTS = (
    0.0382, 0.1755, -0.0517, -0.0282, 0.1343, 0.0963,
    -0.0261, -0.0079, -0.0292, -0.0320, 0.0181, 0.0141,
    -0.0768, 0.0209, 0.0572, -0.0416, 0.0193, -0.0500,
    -0.0928, -0.1483, -0.0906, 0.0483, 0.2862, 0.0070,
)  # fmt: skip
BIAS = -1.3508


@dataclass(frozen=True, slots=True, kw_only=True)
class Attack:
    """How one note begins. features_db: as ``FEATURES`` lists them; fall_db: of its level in a tenth of a second."""

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
    """The attack of every note of a take. audio: float32 (n,) at ``RATE_HZ``."""
    onsets = np.asarray(onsets_s, dtype=np.float64)
    bands = [butter(2, band, "bandpass", fs=RATE_HZ, output="sos") for band in BANDS_HZ]
    features = np.concatenate([_features(_summed(audio, band), onsets) for band in bands], axis=1)
    features = np.clip(features, *np.array(LIMITS_DB).T)
    whole = _summed(audio, None)
    fall_db = _level_db(whole, onsets, onsets + 0.03) - _level_db(whole, onsets + FALL_S[0], onsets + FALL_S[1])
    return tuple(
        Attack(features_db=tuple(row), fall_db=float(fall))
        for row, fall in zip(features.tolist(), fall_db, strict=True)
    )


def _summed(audio: NDArray[np.float32], band: FloatArray | None) -> FloatArray:
    """Running sum of the power of a band, or of all, every ``STEP_S``, so that any stretch costs the same."""
    state = None if band is None else np.zeros((len(band), 2))
    steps = []
    for first in range(0, len(audio), BLOCK):
        piece = audio[first : first + BLOCK].astype(np.float64)
        if band is not None:
            piece, state = sosfilt(band, piece, zi=state)
        whole = np.pad(piece**2, (0, -len(piece) % STEP))
        steps.append(whole.reshape(-1, STEP).sum(axis=1))
    return np.concatenate([[0.0], np.cumsum(np.concatenate([*steps, np.zeros(1)]))])


def _level_db(summed: FloatArray, from_s: FloatArray, to_s: FloatArray) -> FloatArray:
    """Mean level of stretches."""
    first, last = (np.clip(np.round(time_s / STEP_S).astype(np.intp), 0, len(summed) - 1) for time_s in (from_s, to_s))
    power = (summed[last] - summed[first]) / np.maximum((last - first) * STEP, 1)
    return np.asarray(10.0 * np.log10(power + FLOOR))


def _features(summed: FloatArray, onsets_s: FloatArray) -> FloatArray:
    """Of one band, (notes, 6): loudest moment over before and over after, deepest dip, sharpest leap over the moment 4
    ms earlier and jump over all of ``BACK``, after against before.
    """
    before_db = _level_db(summed, onsets_s + BEFORE_S[0], onsets_s + BEFORE_S[1])
    after_db = _level_db(summed, onsets_s + AFTER_S[0], onsets_s + AFTER_S[1])

    starts_s = onsets_s[:, None] + np.arange(NEAR_S[0] - LEAD_S, NEAR_S[1] - BURST_S + 1e-9, STEP_S)
    moments_db = _level_db(summed, starts_s, starts_s + BURST_S)
    lead = round(LEAD_S / STEP_S)
    near_db = moments_db[:, lead:]
    earlier_db = np.array([moments_db[:, lead - back : -back] for back in BACK])
    loudest_db, dip_db = near_db.max(axis=1), moments_db.min(axis=1)
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

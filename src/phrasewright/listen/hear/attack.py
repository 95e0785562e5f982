"""How a note begins and dies away, as far as its noise and level tell: a plectrum's click, a finger's touch, a thud.

A plectrum or a plucking finger leaves a short burst of high partials that is gone some hundredths of a second later; a
string that a fretting finger hammers, pulls or slides on goes on with the highs it still has (common practice; the
strings of ``docs/sound.md`` were measured so).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from phrasewright.listen.hear.pitch_curve import HEAR_RATE_HZ

HIGH_HZ = 1800.0  # where a pick's noise stands out of the partials
BEFORE_S = (-0.035, -0.010)  # around the onset, which is known to about 5 ms
STRUCK_S = (-0.008, 0.016)
LATER_S = (0.040, 0.065)
BURST_S = 0.006  # the loudest so long is the stroke
FALL_S = (0.08, 0.11)  # a dead string is silent by then
FLOOR_DB = -90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Attack:
    """How one note begins. rise_db: its highs against those just before; drop_db: against those 50 ms later;
    fall_db: how far its whole level has fallen after a tenth of a second.
    """

    rise_db: float
    drop_db: float
    fall_db: float

    @property
    def strength_db(self) -> float:
        """How strongly it was struck: no more than the highs rose, and than they die away."""
        return min(self.rise_db, self.drop_db)


def attacks_of(audio: NDArray[np.float32], onsets_s: Sequence[float]) -> tuple[Attack, ...]:
    """The attack of every note of a take. audio: float32 (n,) at ``HEAR_RATE_HZ``."""
    high = sosfilt(butter(2, HIGH_HZ, "highpass", fs=HEAR_RATE_HZ, output="sos"), audio)
    highs, whole = _Energy.of(high), _Energy.of(audio)
    return tuple(_attack(highs, whole, onset_s) for onset_s in onsets_s)


def attack_strength(audio: NDArray[np.float32], onset_s: float) -> float:
    """How strongly the string was struck at an onset, in dB: near 0 where it only sounds on."""
    return attacks_of(audio, [onset_s])[0].strength_db


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Energy:
    """Running sum of a signal's power, so that any stretch costs the same."""

    summed: NDArray[np.float64]

    @classmethod
    def of(cls, signal: NDArray[np.floating]) -> _Energy:
        return cls(summed=np.concatenate([[0.0], np.cumsum(signal.astype(np.float64) ** 2)]))

    def _at(self, time_s: float | NDArray[np.float64]) -> NDArray[np.intp]:
        index = np.round(np.asarray(time_s) * HEAR_RATE_HZ).astype(np.intp)
        return np.clip(index, 0, len(self.summed) - 1)

    def db(self, from_s: float, to_s: float) -> float:
        """Mean level of a stretch."""
        first, last = int(self._at(from_s)), int(self._at(to_s))
        mean = (self.summed[last] - self.summed[first]) / max(last - first, 1)
        return max(10.0 * float(np.log10(max(mean, 1e-12))), FLOOR_DB)

    def loudest_db(self, from_s: float, to_s: float) -> float:
        """Level of the loudest ``BURST_S`` that begin in a stretch."""
        starts = np.arange(from_s, to_s - BURST_S + 1e-9, 0.001)
        power = (self.summed[self._at(starts + BURST_S)] - self.summed[self._at(starts)]).max(initial=0.0)
        return max(10.0 * float(np.log10(max(power / (BURST_S * HEAR_RATE_HZ), 1e-12))), FLOOR_DB)


def _attack(highs: _Energy, whole: _Energy, onset_s: float) -> Attack:
    def between(reach_s: tuple[float, float]) -> tuple[float, float]:
        return max(onset_s + reach_s[0], 0.0), onset_s + reach_s[1]

    struck_db = highs.loudest_db(*between(STRUCK_S))
    return Attack(
        rise_db=struck_db - highs.db(*between(BEFORE_S)),
        drop_db=struck_db - highs.db(*between(LATER_S)),
        fall_db=whole.db(onset_s, onset_s + 0.03) - whole.db(*between(FALL_S)),
    )

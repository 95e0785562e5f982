"""Loudness by ITU-R BS.1770-4: K-weighted, gated; of single stems and exactly of any sum of them.

The weighting's two filters are those of the recommendation for any sample rate: the bilinear transforms of a shelf
(+4 dB from 1682 Hz) and a high-pass (38 Hz) whose corners and qualities reproduce its table of coefficients at 48 kHz
(B. De Man, "Evaluation of implementations of the EBU R128 loudness measurement", AES 2018, from memory; the tests
compare with the table and with pyloudnorm).

Power of a sum: for stems s with gains g the weighted power in a stretch of time is ``sum g_i g_j <s_i, s_j>``. So
the products of the weighted stems in every 100 ms are all that is kept, and the loudness of every balance and every
choice of stems follows without filtering again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import freqz

from phrasewright.sound.convolve import Grid, SpectrumArray, sounds, spectra

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

SHELF_HZ, SHELF_DB, SHELF_QUALITY = 1681.974450955532, 3.99984385397, 0.7071752369554193
SHELF_MIDDLE = 0.499666774155  # power of the shelf's gain at its corner
HIGHPASS_HZ, HIGHPASS_QUALITY = 38.13547087613982, 0.5003270373253953
OFFSET_LUFS = -0.691
SILENT_LUFS = -70.0  # absolute gate
QUIET_LU = 10.0  # relative gate, under the mean of what the absolute gate leaves
GATING_HOPS = 4  # 400 ms blocks that overlap by three quarters


@dataclass(frozen=True, slots=True, eq=False)
class StemPowers:
    """K-weighted products of stems. products: float64 (hops, stems, stems), mean over a hop, summed over channels."""

    products: FloatArray

    def lufs(self, gains: Sequence[float]) -> float:
        """Integrated loudness of the stems' sum, each multiplied by its gain; -inf for silence or under 0.4 s."""
        weights = np.asarray(gains, dtype=np.float64)
        return gated_lufs(np.einsum("hij,i,j->h", self.products, weights, weights))


def loudness_lufs(audio: AudioArray | FloatArray, sample_rate: int) -> float:
    """Integrated loudness of (n,) or (n, channels), channels alike in weight; -inf for silence or under 0.4 s."""
    grid, weighting = Grid.at_rate(sample_rate), k_weighting(sample_rate)
    channels = [np.asarray(channel, dtype=np.float32) for channel in np.atleast_2d(audio.T)]
    powers = [np.zeros(0)]
    for starts in grid.starts(len(audio)):
        weighted = sounds(spectra(channels, starts, grid) * weighting, grid)
        powers += [
            np.square(_hops(rows, len(audio) - at, grid), dtype=np.float32).sum(axis=(0, 2), dtype=np.float64)
            for rows, at in zip(weighted, starts, strict=True)
        ]
    return gated_lufs(_whole(np.concatenate(powers), len(audio), grid) / grid.hop)


def gated_lufs(hop_powers: FloatArray) -> float:
    """Integrated loudness from the weighted power of each 100 ms, float64 (hops,)."""
    if len(hop_powers) < GATING_HOPS:
        return -math.inf
    sums = np.concatenate(([0.0], np.cumsum(np.maximum(hop_powers, 0.0))))
    blocks = (sums[GATING_HOPS:] - sums[:-GATING_HOPS]) / GATING_HOPS
    loud = blocks[blocks >= _power(SILENT_LUFS)]
    if not len(loud):
        return -math.inf
    kept = loud[loud > 10.0 ** (-QUIET_LU / 10.0) * loud.mean()]
    return OFFSET_LUFS + 10.0 * math.log10(float(kept.mean()))


def weighted_products(weighted: AudioArray, left: int, grid: Grid) -> FloatArray:
    """Products of a block's weighted stems, float32 (stems, channels, step), of which the first ``left`` count.

    Returns float64 (hops, stems, stems): means over a hop, summed over channels.
    """
    stems, channels, _ = weighted.shape
    hops = _hops(weighted.reshape(stems * channels, -1), left, grid).reshape(stems, channels, -1, grid.hop)
    rows = hops.transpose(1, 2, 0, 3)
    return np.asarray((rows @ rows.swapaxes(-1, -2)).sum(axis=0, dtype=np.float64) / grid.hop)


def stem_powers(products: Sequence[FloatArray], length: int, grid: Grid) -> StemPowers:
    """The products of all blocks of sound ``length`` samples long."""
    return StemPowers(_whole(np.concatenate(products), length, grid))


@lru_cache(maxsize=4)
def k_weighting(sample_rate: int) -> SpectrumArray:
    """Frequency response of the weighting on the grid of a sample rate, read-only complex64 (bins,)."""
    grid = Grid.at_rate(sample_rate)
    turns = 2.0 * np.pi * np.arange(grid.bins) / grid.size
    response = np.ones(grid.bins, dtype=np.complex128)
    for numerator, denominator in k_filters(sample_rate):
        response *= freqz(numerator, denominator, worN=turns)[1]
    weighting: SpectrumArray = response.astype(np.complex64)
    weighting.setflags(write=False)
    return weighting


def k_filters(sample_rate: int) -> tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
    """Shelf and high-pass as (numerator, denominator), float64 (3,) each."""
    high, middle = 10.0 ** (SHELF_DB / 20.0), 10.0 ** (SHELF_DB * SHELF_MIDDLE / 20.0)
    turn = math.tan(math.pi * SHELF_HZ / sample_rate)
    bend = turn / SHELF_QUALITY
    shelf = np.array([high + middle * bend + turn**2, 2.0 * (turn**2 - high), high - middle * bend + turn**2])
    below = np.array([1.0 + bend + turn**2, 2.0 * (turn**2 - 1.0), 1.0 - bend + turn**2])
    turn = math.tan(math.pi * HIGHPASS_HZ / sample_rate)
    bend = turn / HIGHPASS_QUALITY
    poles = np.array([1.0 + bend + turn**2, 2.0 * (turn**2 - 1.0), 1.0 - bend + turn**2])
    return (shelf / below[0], below / below[0]), (np.array([1.0, -2.0, 1.0]), poles / poles[0])


def _hops(rows: AudioArray, left: int, grid: Grid) -> AudioArray:
    """Rows (r, step) cut into hops, (r, hops, hop); what lies past the first ``left`` samples is silent."""
    if left < grid.step:
        rows[:, max(left, 0) :] = 0.0
    return rows.reshape(len(rows), -1, grid.hop)


def _whole(hop_values: FloatArray, length: int, grid: Grid) -> FloatArray:
    """As many hops as the sound has, a rest of more than half a hop counted as one."""
    return hop_values[: round(length / grid.hop)]


def _power(level_lufs: float) -> float:
    return float(10.0 ** ((level_lufs - OFFSET_LUFS) / 10.0))

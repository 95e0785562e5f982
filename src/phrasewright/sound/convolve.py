"""Long filters over long sounds, a block at a time (overlap-save).

A block of sound and the stretch before it are transformed once; any number of filters are then one product and one
inverse transform each, and nothing longer than a few blocks is ever in memory. A block holds a whole number of *hops*
of 100 ms, the grid that loudness is measured on. Transforms are single precision and run four at a time: the library's
fast path, twice as quick as one by one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

SpectrumArray: TypeAlias = NDArray[np.complex64]

HOP_S = 0.1
HISTORY_HOPS = 10  # 1 s: the longest memory of a filter here, room (0.9 s) and weighting (0.1 s) together
STEP_HOPS = 19  # with the history just under 2^17 samples at 44.1 kHz
TOGETHER = 4  # blocks taken at once, and rows of a transform


@dataclass(frozen=True, slots=True)
class Grid:
    """Sizes in samples. hop: 100 ms; history: what a filter may remember; step: new samples of a block; size: of a
    transform."""

    hop: int
    history: int
    step: int
    size: int

    @classmethod
    def at_rate(cls, sample_rate: int) -> Grid:
        """The grid of a sample rate in Hz."""
        hop = round(HOP_S * sample_rate)
        history, step = HISTORY_HOPS * hop, STEP_HOPS * hop
        return cls(hop, history, step, next_fast_len(history + step, real=True))

    @property
    def bins(self) -> int:
        """Length of a spectrum."""
        return self.size // 2 + 1

    def starts(self, length: int) -> Iterator[range]:
        """First samples of the blocks that cover a length, some blocks at once."""
        for first in range(0, length, TOGETHER * self.step):
            yield range(first, min(first + TOGETHER * self.step, length), self.step)


def spectra(channels: Sequence[AudioArray], starts: Sequence[int], grid: Grid) -> SpectrumArray:
    """Spectra of the blocks that begin at ``starts`` with their history. channels: float32 (n,) each.

    Returns complex64 (blocks, channels, bins).
    """
    blocks = np.zeros((len(starts), len(channels), grid.size), dtype=np.float32)
    for start, rows in zip(starts, blocks, strict=True):
        before = max(start - grid.history, 0)
        at = grid.history - (start - before)
        for row, channel in zip(rows, channels, strict=True):
            piece = channel[before : start + grid.step]
            row[at : at + len(piece)] = piece
    rows = blocks.reshape(-1, grid.size)
    found = np.empty((len(rows), grid.bins), dtype=np.complex64)
    for row in range(0, len(rows), TOGETHER):
        found[row : row + TOGETHER] = rfft(rows[row : row + TOGETHER], axis=-1)
    return found.reshape(len(starts), len(channels), grid.bins)


def sounds(filtered: SpectrumArray, grid: Grid) -> AudioArray:
    """The blocks of filtered spectra, history dropped. filtered: complex64 (..., bins). Returns float32 (..., step)."""
    rows = filtered.reshape(-1, grid.bins)
    out = np.empty((len(rows), grid.step), dtype=np.float32)
    for row in range(0, len(rows), TOGETHER):
        here = slice(row, row + TOGETHER)
        out[here] = irfft(rows[here], grid.size, axis=-1)[:, grid.history : grid.history + grid.step]
    return out.reshape(*filtered.shape[:-1], grid.step)


def response_spectrum(response: AudioArray, grid: Grid) -> SpectrumArray:
    """Transform of an impulse response (n, channels) that is no longer than the history. Returns (channels, bins)."""
    if len(response) > grid.history:
        raise ValueError(f"a response may last {grid.history} samples, got {len(response)}")
    found: SpectrumArray = rfft(np.ascontiguousarray(response.T, dtype=np.float32), grid.size, axis=-1)
    return found

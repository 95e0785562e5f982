"""How strongly something begins at each moment of a recording.

The rise of a log-frequency spectrum from frame to frame, summed over bands; a rise counts only against the loudest of
the neighbouring bands a little earlier, so that vibrato and bends begin nothing (the idea of Boeck & Widmer 2013,
"Maximum filter vibrato suppression for onset detection", DAFx). Frames are 5.8 ms apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.ndimage import maximum_filter1d, uniform_filter1d

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import ArrayLike, NDArray

    FloatArray = NDArray[np.float32]

RATE = 44_100  # of every recording once it is read
WINDOW, HOP = 1024, 256  # samples
FRAME_S = HOP / RATE
BANDS, LOWEST_HZ, HIGHEST_HZ = 40, 40.0, 15_000.0
GROUPS = 8  # ranges of frequency told apart later
LAG = 2  # frames back that a rise is measured against
COMPRESSION = 1000.0  # log(1 + this * magnitude / loudest): about 60 dB of range
LOCAL_S = 4.0  # what is usual is taken over so long
QUIET_SHARE = 0.1  # of the whole recording's usual strength: quieter stretches count as silence
BLOCK = 4096  # frames transformed at once


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnsetStrength:
    """How strongly something begins at each frame; frame k lies at k * FRAME_S s.

    rises: float32 (frames, GROUPS), by range of frequency from low to high; values: float32 (frames,), all ranges
    together in units of the usual strength around a frame.
    """

    rises: FloatArray
    values: FloatArray

    @property
    def length_s(self) -> float:
        """Length of the recording in s."""
        return len(self.values) * FRAME_S

    def weighted(self, weights: FloatArray) -> OnsetStrength:
        """The same with some ranges of frequency heard more than others, (GROUPS,)."""
        return OnsetStrength(rises=self.rises, values=_levelled(self.rises @ weights))

    def around(self, times_s: ArrayLike, reach_s: float) -> FloatArray:
        """Highest rise within a reach of each time, by range of frequency, float32 (times, GROUPS)."""
        reach = max(round(reach_s / FRAME_S), 0)
        frames = np.clip(np.round(np.asarray(times_s) / FRAME_S).astype(int), 0, len(self.rises) - 1)
        near = np.clip(frames[:, None] + np.arange(-reach, reach + 1), 0, len(self.rises) - 1)
        highest: FloatArray = self.rises[near].max(axis=1)
        return highest

    def at(self, times_s: ArrayLike, reach_s: float) -> FloatArray:
        """Highest strength within a reach of each time, float32 (times,)."""
        reach = max(round(reach_s / FRAME_S), 0)
        frames = np.round(np.asarray(times_s) / FRAME_S).astype(int)
        near = np.clip(frames[:, None] + np.arange(-reach, reach + 1), 0, len(self.values) - 1)
        highest: FloatArray = self.values[near].max(axis=1)
        return highest


def onset_strength(audio: FloatArray) -> OnsetStrength:
    """Of a recording, float32 (n,) or (n, channels) at ``RATE``. It reads the audio in blocks: memory stays small."""
    spectrum = np.concatenate(list(_band_blocks(audio)))
    loudest = max(float(spectrum.max(initial=0.0)), 1e-9)
    levels = np.log1p(spectrum * np.float32(COMPRESSION / loudest))
    held = maximum_filter1d(levels, 3, axis=1)
    rise = np.zeros_like(levels)
    rise[LAG:] = np.maximum(levels[LAG:] - held[:-LAG], 0.0)
    rises = rise.reshape(len(rise), GROUPS, BANDS // GROUPS).mean(axis=2)
    return OnsetStrength(rises=rises, values=_levelled(rises.mean(axis=1)))


def _levelled(rise: FloatArray) -> FloatArray:
    """In units of what is usual around each frame; a quiet stretch is not raised to a loud one."""
    usual = np.sqrt(uniform_filter1d(rise**2, round(LOCAL_S / FRAME_S), mode="nearest"))
    floor = QUIET_SHARE * float(np.sqrt(np.mean(rise**2))) + 1e-6
    levelled: FloatArray = (rise / np.maximum(usual, floor)).astype(np.float32)
    return levelled


def _band_blocks(audio: FloatArray) -> Iterator[FloatArray]:
    """Magnitudes by band, float32 (frames, BANDS), block after block."""
    frames = -(-len(audio) // HOP)
    weights, window = _bands(), np.hanning(WINDOW).astype(np.float32)
    for first in range(0, frames, BLOCK):
        count = min(BLOCK, frames - first)
        start = first * HOP - WINDOW // 2
        piece = _mono(audio, start, (count - 1) * HOP + WINDOW)
        shown = sliding_window_view(piece, WINDOW)[::HOP][:count] * window
        yield np.abs(np.fft.rfft(shown, axis=1)).astype(np.float32) @ weights


def _mono(audio: FloatArray, start: int, length: int) -> FloatArray:
    """A stretch folded to one channel, zeros where the recording has not begun or is over."""
    piece = audio[max(start, 0) : max(start + length, 0)]
    mono = piece if piece.ndim == 1 else piece.mean(axis=1)
    before = max(-start, 0)
    return np.pad(mono, (before, length - before - len(mono))).astype(np.float32)


@cache
def _bands() -> FloatArray:
    """Triangles evenly apart in log frequency, each of sum 1, float32 (bins, BANDS)."""
    edges = np.geomspace(LOWEST_HZ, HIGHEST_HZ, BANDS + 2)
    bins = np.fft.rfftfreq(WINDOW, 1.0 / RATE)
    step = bins[1]
    columns = []
    for low, middle, high in zip(edges, edges[1:], edges[2:], strict=False):
        low, high = min(low, middle - step), max(high, middle + step)  # narrow bands still meet a bin
        column = np.clip(np.minimum((bins - low) / (middle - low), (high - bins) / (high - middle)), 0.0, None)
        columns.append(column / column.sum())
    return np.array(columns, dtype=np.float32).T.copy()

"""Beats of a recording whose chart has tempo marks.

As ``beats``, but the beats are numbered: from the first tap on, one beat after the other, each as long as the marks of
the chart say against the tapped tempo. The search is over (frame, tempo) of each beat in turn, among the frames within
a beat of the best one so far; where a mark changes the pace, the tempo may move farther, as people take marks freely.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.beats import (
    FARTHEST_JITTERS,
    JITTER_S,
    TEMPO_STEP,
    Anchors,
    marked,
    periods_of,
    snapped,
    worth_of,
)
from phrasewright.listen.onset_strength import FRAME_S, OnsetStrength

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]
    Paces = Callable[[NDArray[np.int64]], FloatArray]

MARK_STEP = 0.05  # usual distance of a new pace from its mark, standard deviation of the logarithm (by ear)
REACH = 0.75  # of a beat: how far from the best frame so far others are kept


def track_paced(strength: OnsetStrength, anchors: Anchors, *, first_s: float, paces: Paces) -> FloatArray:
    """Times of all beats, s, rising. paces: how long the beats at some places last against the tapped ones; the place
    of the beat tapped first, at first_s, is 0.
    """
    first = _numbered(strength, anchors, first_s, paces)
    return _numbered(marked(strength, first, anchors), anchors, first_s, paces)


def _numbered(strength: OnsetStrength, anchors: Anchors, first_s: float, paces: Paces) -> FloatArray:
    worth, periods = worth_of(strength, anchors), periods_of(anchors)
    most = int(len(worth) / periods[0]) + 2
    start = round(first_s / FRAME_S)
    ahead = _chain(worth, periods, start, paces(np.arange(most)))
    behind = _chain(worth[::-1], periods, len(worth) - 1 - ahead[0], paces(-1 - np.arange(most)), reach=1)
    frames = np.concatenate([len(worth) - 1 - behind[:0:-1], ahead])
    return snapped(frames[(frames >= 0) & (frames < len(worth))], strength.values)


def _chain(
    worth: FloatArray, periods: FloatArray, start: int, paces: FloatArray, *, reach: int | None = None
) -> NDArray[np.int64]:
    """Frames of the best beats from one near ``start`` to the end. reach: frames that the first may lie beside it."""
    many, usual = len(periods), float(np.median(periods))
    tempos = np.log(periods)
    step = ((tempos[:, None] - tempos[None, :]) ** 2) / 2  # [now, before]
    jitter = max(int(FARTHEST_JITTERS * JITTER_S / FRAME_S), 1)
    shifts = np.arange(-jitter, jitter + 1)
    half = int(usual / 2) if reach is None else reach
    frames = np.arange(start - half, start + half + 1)
    best = np.repeat(_at(worth, frames)[:, None], many, axis=1)
    came: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
    lows, before = [int(frames[0])], float(paces[0])
    for pace in paces:
        spread = TEMPO_STEP if abs(np.log(pace / before)) < 1e-6 else MARK_STEP
        before = float(pace)
        moved = best[:, None, :] - step[None] / spread**2
        tempo = moved.argmax(axis=2)
        ready = np.take_along_axis(moved, tempo[:, :, None], axis=2)[:, :, 0]
        lengths = periods * pace
        row, column = np.unravel_index(int(ready.argmax()), ready.shape)
        middle = lows[-1] + int(row) + round(float(lengths[column]))
        if middle >= len(worth):
            break
        width = int(REACH * usual * pace)
        frames = np.arange(middle - width, middle + width + 1)
        gaps = np.round(lengths).astype(np.int64)[:, None] + shifts[None, :]  # [tempo, shift]
        beside = ((gaps - lengths[:, None]) * FRAME_S / JITTER_S) ** 2 / 2
        rows = frames[:, None, None] - gaps[None] - lows[-1]
        inside = (rows >= 0) & (rows < len(ready))
        options = ready[np.clip(rows, 0, len(ready) - 1), np.arange(many)[None, :, None]] - beside[None]
        options[~inside] = -np.inf
        pick = options.argmax(axis=2)
        came.append((np.take_along_axis(rows, pick[:, :, None], axis=2)[:, :, 0], tempo))
        best = options.max(axis=2) + _at(worth, frames)[:, None]
        lows.append(int(frames[0]))
    return _back(best, came, lows)


def _at(worth: FloatArray, frames: NDArray[np.int64]) -> FloatArray:
    """Worth of frames; little outside the recording."""
    inside = (frames >= 0) & (frames < len(worth))
    found: FloatArray = np.where(inside, worth[np.clip(frames, 0, len(worth) - 1)], -1.0)
    return found


def _back(best: FloatArray, came: Sequence[tuple[NDArray[np.int64], ...]], lows: Sequence[int]) -> NDArray[np.int64]:
    """The best chain from its end to its start, turned round."""
    row, tempo = (int(index) for index in np.unravel_index(int(best.argmax()), best.shape))
    chain = [lows[-1] + row]
    for number in range(len(came) - 1, -1, -1):
        rows, tempos = came[number]
        row = int(rows[row, tempo])
        tempo = int(tempos[row, tempo])
        chain.append(lows[number] + row)
    return np.array(chain[::-1], dtype=np.int64)

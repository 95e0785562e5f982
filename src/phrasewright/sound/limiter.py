"""True peak, and a look-ahead limiter that holds it under a ceiling.

True peak: 4x oversampled (ITU-R BS.1770-4, annex 2). Only stretches whose samples come near the ceiling are
oversampled, and only the surroundings of peaks that pass it are touched; everything else stays bit for bit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy.ndimage import minimum_filter1d, uniform_filter1d

from phrasewright.units import amplitude_from_db, db_from_amplitude

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

CEILING_DBTP = -1.0
MARGIN_DB = 0.15  # between the gain curve's promise and what the oversampled meter reads after it
METER_DB = 0.05  # between what our meter reads and what a finer one may
LOOKAHEAD_S = 0.004
OVERSAMPLING = 4
BLOCK, EDGE = 1024, 512  # samples: looked at together for peaks, and taken along on each side
LONGEST_BLOCKS = 16  # of a stretch that is oversampled at once
QUIET_SHARE = 0.5  # of the ceiling: between samples that all stay below, no wave of ours rises to it
ROUNDS = 4  # a gain curve moves the waves between the samples a little, so it is checked and mended


def true_peak_dbtp(audio: AudioArray | FloatArray, sample_rate: int) -> float:
    """Highest inter-sample peak of (n,) or (n, channels) in dB of full scale; -inf for silence."""
    if not len(audio):
        return -math.inf
    over = soxr.resample(audio, sample_rate, OVERSAMPLING * sample_rate)
    return db_from_amplitude(float(max(np.abs(over).max(initial=0.0), np.abs(audio).max(initial=0.0))))


def peak_over_dbtp(audio: AudioArray, sample_rate: int, *, ceiling_dbtp: float = CEILING_DBTP) -> float:
    """Highest inter-sample peak of (n, channels) that passes a ceiling, in dB of full scale; -inf when none does.

    Oversamples only where samples come near the ceiling: long tracks fit in memory.
    """
    _, peaks = _peaks_over(audio, amplitude_from_db(ceiling_dbtp), sample_rate)
    return db_from_amplitude(float(peaks.max())) if len(peaks) else -math.inf


def limit(audio: AudioArray, sample_rate: int, *, ceiling_dbtp: float = CEILING_DBTP) -> float:
    """Hold the true peak under a ceiling, in place. audio: float32 (n, channels). Returns the deepest cut in dB.

    The gain falls smoothly over ``LOOKAHEAD_S`` before a peak and recovers as smoothly after it, alike on all
    channels; where no peak is near, samples pass unchanged.
    """
    ceiling, inner, target = (amplitude_from_db(ceiling_dbtp - under_db) for under_db in (0.0, METER_DB, MARGIN_DB))
    at, peaks = _peaks_over(audio, target, sample_rate)
    if peaks.max(initial=0.0) <= ceiling:
        return 0.0
    reach = int(LOOKAHEAD_S * sample_rate)
    deepest = min(
        _tamed(audio, slice(start, stop), at[here] - start, target / peaks[here], reach, inner, sample_rate)
        for start, stop, here in _places(at, 2 * reach + 2, len(audio))
    )
    return -db_from_amplitude(deepest)


def _tamed(
    audio: AudioArray,
    place: slice,
    at: NDArray[np.int_],
    wanted: FloatArray,
    reach: int,
    inner: float,
    sample_rate: int,
) -> float:
    """Limit one place, whose peaks at ``at`` want these gains, to a peak a little under the ceiling. Returns its lowest
    gain."""
    untouched = audio[place].copy()
    gain = np.ones(len(untouched))
    for _ in range(ROUNDS):
        needed = np.ones(len(untouched))
        needed[at] = np.minimum(wanted, 1.0)
        held = minimum_filter1d(needed, 2 * reach + 1, mode="nearest")
        half = reach // 2 * 2 + 1  # two moving averages: a triangle as wide as the minimum was held
        gain = np.minimum(uniform_filter1d(uniform_filter1d(held, half, mode="nearest"), half, mode="nearest"), 1.0)
        audio[place] = untouched * gain.astype(np.float32)[:, None]
        highest = float(_peaks(audio[place], _between(audio, place, sample_rate)).max())
        if highest <= inner:
            break
        wanted = wanted * (0.999 * inner / highest)
    return float(gain.min())


def _peaks_over(audio: AudioArray, target: float, sample_rate: int) -> tuple[NDArray[np.int_], FloatArray]:
    """Samples at which a peak, there or up to the next one, passes a level; and the peaks."""
    places, peaks = [np.zeros(0, dtype=np.int_)], [np.zeros(0)]
    for stretch in _loud_stretches(audio, QUIET_SHARE * target):
        over = _between(audio, stretch, sample_rate)
        if max(over.max(), -over.min()) > target:
            found = _peaks(audio[stretch], over)
            high = np.flatnonzero(found > target)
            places.append(high + stretch.start)
            peaks.append(found[high].astype(np.float64))
    return np.concatenate(places), np.concatenate(peaks)


def _places(at: NDArray[np.int_], margin: int, length: int) -> Iterator[tuple[int, int, slice]]:
    """(start, stop, which peaks) of the places to limit: peaks whose surroundings meet share one."""
    breaks = np.flatnonzero(np.diff(at) > 2 * margin) + 1
    for first, last in zip([0, *breaks], [*breaks, len(at)], strict=True):
        yield max(int(at[first]) - margin, 0), min(int(at[last - 1]) + margin + 1, length), slice(first, last)


def _loud_stretches(audio: AudioArray, floor: float) -> Iterator[slice]:
    """Where samples reach a floor, in whole blocks: only there can the ceiling be passed."""
    blocks = len(audio) // BLOCK
    loudest = np.zeros(blocks + 1)
    whole = audio[: blocks * BLOCK].reshape(blocks, -1)
    loudest[:blocks] = np.maximum(whole.max(axis=1), -whole.min(axis=1)) if blocks else 0.0
    loudest[blocks] = np.abs(audio[blocks * BLOCK :]).max(initial=0.0)
    loud = loudest >= floor
    near = loud.copy()
    near[1:] |= loud[:-1]
    near[:-1] |= loud[1:]
    edges = np.flatnonzero(np.diff(np.concatenate(([0], near.astype(np.int8), [0]))))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        for block in range(int(first), int(end), LONGEST_BLOCKS):
            stop = min(min(block + LONGEST_BLOCKS, int(end)) * BLOCK, len(audio))
            if block * BLOCK < stop:
                yield slice(block * BLOCK, stop)


def _between(audio: AudioArray, stretch: slice, sample_rate: int) -> AudioArray:
    """A stretch oversampled, float32 (OVERSAMPLING * length, channels)."""
    start = max(stretch.start - EDGE, 0)
    over = soxr.resample(audio[start : stretch.stop + EDGE], sample_rate, OVERSAMPLING * sample_rate)
    before, size = OVERSAMPLING * (stretch.start - start), OVERSAMPLING * (stretch.stop - stretch.start)
    there: AudioArray = over[before : before + size]
    missing = size - len(there)
    return np.pad(there, ((0, missing), (0, 0))) if missing else there


def _peaks(here: AudioArray, over: AudioArray) -> AudioArray:
    """Highest peak at and after each sample of (n, channels) over all channels, float32 (n,)."""
    size = np.abs(over).reshape(len(here), -1)
    highest: AudioArray = np.abs(here).max(axis=1)
    for column in range(size.shape[1]):
        np.maximum(highest, size[:, column], out=highest)
    return highest

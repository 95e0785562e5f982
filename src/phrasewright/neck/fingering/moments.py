"""A line in the order the hands meet it: chords gathered, time and surroundings of every note.

Notes that begin within 30 ms are one chord (a strum spreads over less); inside it they are taken from low to high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phrasewright.neck.fingering.line import LineNote

CHORD_S = (
    0.03  # 6.5 per cent of the onset gaps in the solos of sources 4 are shorter, and none of them repeats a string
)
NEAR, WIDE = 4, 12  # notes to either side that make up the surroundings
_EDGE_PERCENT = 8  # lowest and highest of the surroundings, without a stray note

Ints = NDArray[np.intp]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """Pitches between which the notes around each note lie, without a stray one."""

    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """A line of n notes, arrays of length n in playing order.

    order: index of each in the line as given. chord: number of its chord, rising. wait_s: from the chord before;
    rest_s: silence since the end of the note before, negative when it still sounds; 0 for the first note.
    """

    order: Ints
    pitch_midi: Ints
    duration_s: Floats
    chord: Ints
    wait_s: Floats
    rest_s: Floats
    near: Surroundings
    wide: Surroundings

    @property
    def in_chord(self) -> NDArray[np.bool_]:
        """Whether another note begins together with each."""
        return np.asarray(np.bincount(self.chord)[self.chord] > 1)


def moments(line: Sequence[LineNote]) -> Moments:
    """The line in playing order. Raises ValueError when it is empty."""
    if not line:
        raise ValueError("a line without notes cannot be fingered")
    onset = np.array([note.onset_s for note in line])
    pitch = np.array([note.pitch_midi for note in line], dtype=np.intp)
    by_onset = np.argsort(onset, kind="stable")
    chord_by_onset, start_by_onset = _chords(onset[by_onset])
    inner = np.lexsort((pitch[by_onset], chord_by_onset))
    order = by_onset[inner]
    chord, start = chord_by_onset[inner], start_by_onset[inner]
    duration = np.array([note.duration_s for note in line])[order]
    ends = onset[order] + duration
    return Moments(
        order=order,
        pitch_midi=pitch[order],
        duration_s=duration,
        chord=chord,
        wait_s=np.diff(start, prepend=start[0]),
        rest_s=np.concatenate([[0.0], start[1:] - ends[:-1]]),
        near=_surroundings(pitch[order], NEAR),
        wide=_surroundings(pitch[order], WIDE),
    )


def _chords(onsets_s: Floats) -> tuple[Ints, Floats]:
    """Number and first onset of the chord of each of rising onsets."""
    number, start = 0, onsets_s[0]
    numbers, starts = [], []
    for onset in onsets_s:
        if onset - start >= CHORD_S:
            number, start = number + 1, onset
        numbers.append(number)
        starts.append(start)
    return np.array(numbers, dtype=np.intp), np.array(starts)


def _surroundings(pitch_midi: Ints, notes: int) -> Surroundings:
    """Of so many notes to either side of each, at the ends of the line of fewer."""
    padded = np.pad(pitch_midi.astype(float), notes, constant_values=np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * notes + 1)
    low, middle, high = (_rank(windows, percent) for percent in (_EDGE_PERCENT, 50, 100 - _EDGE_PERCENT))
    return Surroundings(low=low, middle=middle, high=high)


def _rank(windows: Floats, percent: int) -> Floats:
    """The note at a percentile of each window (the nearest rank below), missing notes left out."""
    ranked = np.sort(windows, axis=1)  # missing notes last
    count = np.count_nonzero(~np.isnan(windows), axis=1)
    return np.asarray(ranked[np.arange(len(windows)), (count - 1) * percent // 100])

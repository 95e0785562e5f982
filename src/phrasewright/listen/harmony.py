"""How well the chords of a chart fit a recording under some reading of its beats.

Pitch-class energy twenty times a second, in two ranges: the bass, which names the root, and the middle, which names
the rest. A chord's fit at a moment is how much more of the energy lies on its tones than on all twelve alike.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from phrasewright.listen.onset_strength import RATE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from phrasewright.theory.chord import Chord

    FloatArray = NDArray[np.float32]

THINNED = 8  # one sample of so many is kept: nothing above 2.7 kHz is asked for
WINDOW, HOP = 2048, 256  # thinned samples: 0.37 s and 46 ms
FRAME_S = HOP * THINNED / RATE
PITCH_CLASSES = 12
BASS_HZ, MIDDLE_HZ = (38.0, 180.0), (180.0, 1800.0)
BLOCK = 2048


def pitch_classes(audio: FloatArray) -> FloatArray:
    """Energy by pitch class, C first, of the bass and of the middle: float32 (frames, 2, 12), each row of sum 1 or 0.

    audio: float32 (n,) or (n, channels) at ``RATE``. Frame k is centred on k * FRAME_S s.
    """
    thin = _thinned(audio)
    frames = -(-len(thin) // HOP)
    padded = np.pad(thin, (WINDOW // 2, WINDOW + HOP))
    window, rows = np.hanning(WINDOW).astype(np.float32), []
    for first in range(0, frames, BLOCK):
        count = min(BLOCK, frames - first)
        piece = padded[first * HOP : first * HOP + (count - 1) * HOP + WINDOW]
        power = np.abs(np.fft.rfft(sliding_window_view(piece, WINDOW)[::HOP] * window, axis=1)).astype(np.float32)
        rows.append(np.sqrt(power) @ _classes())
    folded = np.concatenate(rows).reshape(-1, 2, PITCH_CLASSES)
    shares: FloatArray = folded / np.maximum(folded.sum(axis=2, keepdims=True), 1e-9)
    return shares


def chord_fit(energy: FloatArray, times_s: ArrayLike, chords: Sequence[Chord | None]) -> FloatArray:
    """Fit of each chord to the stretch that begins at its time; the last time ends the last stretch.

    times_s: (chords + 1,), rising. Returns (chords,): 0 = no better than any notes, NaN without a chord, outside the
    recording and beside a time that is NaN.
    """
    places = np.asarray(times_s) / FRAME_S
    return np.array(
        [
            np.nan if chord is None or not np.isfinite(last - first) else _fit(energy, first, last, chord)
            for first, last, chord in zip(places, places[1:], chords, strict=False)
        ],
        dtype=np.float32,
    )


def _fit(energy: FloatArray, first: float, last: float, chord: Chord) -> float:
    inside = energy[max(round(first), 0) : min(round(last), len(energy))]
    return float((inside.mean(axis=0) * _template(chord)).sum()) if len(inside) else np.nan


@cache
def _template(chord: Chord) -> FloatArray:
    """Weights of mean 0: the bass on the root, the middle on all tones, float32 (2, 12)."""
    bass, middle = np.zeros(PITCH_CLASSES), np.zeros(PITCH_CLASSES)
    tones = [int(tone) for tone in chord.pitch_classes]
    middle[tones] = 1.0
    bass[tones] = 0.5
    bass[(chord.bass or chord.root).pitch_class] = 1.0
    return np.array([bass - bass.mean(), middle - middle.mean()], dtype=np.float32)


def _thinned(audio: FloatArray) -> FloatArray:
    """One channel, one sample of ``THINNED``, smoothed before."""
    mono = audio if audio.ndim == 1 else audio.mean(axis=1)
    whole = mono[: len(mono) // THINNED * THINNED].reshape(-1, THINNED)
    thinned: FloatArray = whole.mean(axis=1, dtype=np.float32)
    return thinned


@cache
def _classes() -> FloatArray:
    """From spectrum to pitch classes of both ranges, float32 (bins, 24)."""
    frequencies = np.fft.rfftfreq(WINDOW, THINNED / RATE)
    matrix = np.zeros((len(frequencies), 2 * PITCH_CLASSES), dtype=np.float32)
    for part, (low, high) in enumerate((BASS_HZ, MIDDLE_HZ)):
        for index, hz in enumerate(frequencies):
            if low <= hz < high:
                pitch = 69 + 12 * np.log2(hz / 440.0)
                near = round(pitch)
                matrix[index, part * PITCH_CLASSES + near % PITCH_CLASSES] = max(1.0 - 1.5 * abs(pitch - near), 0.0)
    return matrix

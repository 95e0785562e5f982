"""Loops that join without a click."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray


def seamless_loop(audio: AudioArray, start: int, end: int, fade: int) -> AudioArray:
    """The region [start, end) in samples, made to repeat.

    audio: float32 (n,) or (n, channels). The last ``fade`` samples turn, with constant gain, into the ``fade``
    samples that stand before ``start``, so that running from the end into the beginning is running on through the
    recording. Where less than ``fade`` samples stand before ``start``, silence is taken for the missing ones.
    Returns float32 (end - start, ...). Raises ValueError unless 0 <= start < end <= n and 0 <= fade <= end - start.
    """
    if not 0 <= start < end <= len(audio):
        raise ValueError(f"a loop needs 0 <= start < end <= {len(audio)}, got {start}, {end}")
    if not 0 <= fade <= end - start:
        raise ValueError(f"a fade must lie in 0..{end - start} samples, got {fade}")
    looped = audio[start:end].copy()
    if fade:
        before = np.zeros((fade, *audio.shape[1:]), dtype=audio.dtype)
        there = min(fade, start)
        before[fade - there :] = audio[start - there : start]
        share = np.linspace(0.0, 1.0, fade, dtype=audio.dtype).reshape(-1, *([1] * (audio.ndim - 1)))
        looped[-fade:] = looped[-fade:] * (1 - share) + before * share
    return looped

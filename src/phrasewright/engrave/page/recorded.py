"""A recording as the page plays it: one clip for each bar, cut so that bars laid end to end are the recording again.

A clip begins ``FADE_S`` before its bar line and fades in up to there, while the clip before fades out: the two always
sum to what was recorded, and a bar that begins a loop has its first stroke whole. ``plan.js`` starts clips so early.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from phrasewright.engrave.page.sound_bank import Clip, Sprite

FADE_S = 0.01


def recorded_sprite(
    audio: np.ndarray, sample_rate: int, bar_lines_s: Sequence[float], encode: Callable[[np.ndarray, int], bytes]
) -> Sprite:
    """Cut a recording, float32 (n,) or (n, 2), at its bar lines, one more than bars. encode: samples to FLAC.

    The clip of bar k, from 1, has the key ``bar k``; the last one rings on to the end of the recording.
    """
    fade = round(FADE_S * sample_rate)
    lines = [round(line_s * sample_rate) for line_s in bar_lines_s]
    lines[-1] = max(lines[-1], len(audio))
    pieces: list[np.ndarray] = []
    clips: dict[str, Clip] = {}
    at = 0
    for number, (start, end) in enumerate(pairwise(lines), start=1):
        piece = _faded(_cut(audio, start - fade, end), fade)
        clips[f"bar {number}"] = Clip(start_frames=at, length_frames=len(piece))
        pieces.append(piece)
        at += len(piece)
    return Sprite(
        audio=encode(np.concatenate(pieces), sample_rate),
        sample_rate_hz=sample_rate,
        clips=clips,
        release_s=None,
        room=0.0,
    )


def _cut(audio: np.ndarray, start: int, end: int) -> np.ndarray:
    """A stretch, silent where the recording has not begun or is over."""
    inside = audio[max(start, 0) : max(end, 0)]
    before = min(max(-start, 0), end - start)
    around = [(before, end - start - before - len(inside))] + [(0, 0)] * (audio.ndim - 1)
    return np.pad(inside, around)


def _faded(piece: np.ndarray, fade: int) -> np.ndarray:
    """In and out by straight lines whose sum is 1 where two clips meet."""
    gains = np.ones(len(piece), dtype=np.float32)
    rise = ((np.arange(fade) + 0.5) / fade).astype(np.float32)
    gains[:fade] = rise
    gains[len(piece) - fade :] *= rise[::-1]
    return np.asarray(piece * (gains if piece.ndim == 1 else gains[:, None]), dtype=np.float32)

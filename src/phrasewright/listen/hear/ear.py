"""The listening network: what it says of a take, frame by frame and semitone by semitone.

The weights are shipped (``ear.onnx``); how they were trained, and on what, is told in tools/listener and
docs/listening.md. A long take is heard in pieces that overlap by as much as the network sees to either side.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np
import onnxruntime

from phrasewright.listen.hear.spectrum import HOP, ROWS, levelled, spectra

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

PIECE, REACH = 400, 20  # frames heard at once; frames seen to either side
ONSET, SOUNDS, END, SOFT = range(4)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answers:
    """All in 0..1, float32 (frames, ``ROWS``): a ramp around each onset, whether a note sounds, a ramp around each end,
    whether an onset is soft (hammered, pulled, slid); dead: (frames,), a ramp around each dead stroke.
    """

    onset: FloatArray
    sounds: FloatArray
    end: FloatArray
    soft: FloatArray
    dead: FloatArray


def answers(audio: FloatArray) -> Answers:
    """What the network says of a take. audio: float32 (n,) at ``spectrum.RATE_HZ``."""
    heard = levelled(audio)
    frames = max(len(audio) // HOP, 1)
    planes, dead = np.empty((4, frames, ROWS), dtype=np.float32), np.empty(frames, dtype=np.float32)
    for first, last in _pieces(frames):
        seen = spectra(heard, first - REACH, last + REACH)
        told, told_dead = _network().run(None, {"seen": seen[None]})
        planes[:, first:last] = told[0][:, REACH:-REACH]
        dead[first:last] = told_dead[0][REACH:-REACH]
    return Answers(onset=planes[ONSET], sounds=planes[SOUNDS], end=planes[END], soft=planes[SOFT], dead=dead)


def _pieces(frames: int) -> Iterator[tuple[int, int]]:
    for first in range(0, frames, PIECE):
        yield first, min(first + PIECE, frames)


@lru_cache(maxsize=1)
def _network() -> onnxruntime.InferenceSession:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    weights = resources.files("phrasewright.listen.hear").joinpath("ear.onnx").read_bytes()
    return onnxruntime.InferenceSession(weights, options, providers=["CPUExecutionProvider"])

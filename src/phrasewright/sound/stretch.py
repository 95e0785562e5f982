"""Another tempo at the same pitch, for recordings; what we play ourselves is played again instead.

python-stretch (MIT) puts what began at t at t / speed; tests hold it to 5 ms, measured it was within 1 ms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import python_stretch

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

SLOWEST, FASTEST = 0.5, 2.0  # speeds that still sound like music (by ear)
UNCHANGED = 1e-4  # speeds this near to 1 are left alone: 0.06 s in ten minutes


def stretched(audio: AudioArray, sample_rate: int, speed: float) -> AudioArray:
    """The recording at a speed (1.25: a quarter faster), pitch unchanged. audio: float32 (n,) or (n, 2).

    Returns the same shape but round(n / speed) long. It and what it is made of lie in memory whole. Raises ValueError
    for a speed outside ``SLOWEST``..``FASTEST``.
    """
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"a speed lies in {SLOWEST:g}..{FASTEST:g}, got {speed:g}")
    if abs(speed - 1.0) < UNCHANGED:
        return audio
    length = round(len(audio) / speed)
    channels = np.ascontiguousarray(np.atleast_2d(audio.T))
    engine = python_stretch.Signalsmith.Stretch()
    engine.preset(len(channels), float(sample_rate))
    engine.setTimeFactor(speed)
    found = np.asarray(engine.process(channels), dtype=np.float32)[:, :length].T
    whole = np.pad(found, ((0, length - len(found)), (0, 0)))
    return whole[:, 0] if audio.ndim == 1 else whole

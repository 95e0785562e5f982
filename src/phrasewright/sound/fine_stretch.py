"""Another tempo at the same pitch by the finer engine of Rubber Band, where pylibrb is installed.

pylibrb is under the GPL, so the program does not depend on it and a teacher installs it. The whole recording is studied
before it is stretched ("offline"); so the engine itself takes its start delay out. What is left is spread and no delay:
strokes lie 7.5 ms early to 1.9 ms late, the slower the earlier; see docs/recordings.md.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from phrasewright.errors import PhrasewrightError
from phrasewright.sound.stretch import FASTEST, SLOWEST, UNCHANGED

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

BLOCK = 4096  # samples handed over at once


class StretchError(PhrasewrightError):
    """A stretch that cannot be had here."""

    exit_code = 2


def finely_stretched(audio: AudioArray, sample_rate: int, speed: float) -> AudioArray:
    """As ``stretch.stretched``: float32 (n,) or (n, 2), round(n / speed) long. Raises StretchError where pylibrb is not
    installed, ValueError for a speed outside ``SLOWEST``..``FASTEST``.
    """
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"a speed lies in {SLOWEST:g}..{FASTEST:g}, got {speed:g}")
    library = fine_library()
    if abs(speed - 1.0) < UNCHANGED:
        return audio
    length = round(len(audio) / speed)
    channels = np.ascontiguousarray(np.atleast_2d(audio.T), dtype=np.float32)
    options = library.Option.ENGINE_FINER | library.Option.PROCESS_OFFLINE
    engine = library.RubberBandStretcher(sample_rate, len(channels), options, 1.0 / speed, 1.0)
    engine.set_max_process_size(BLOCK)
    engine.set_expected_input_duration(channels.shape[1])
    blocks = [np.ascontiguousarray(channels[:, at : at + BLOCK]) for at in range(0, channels.shape[1], BLOCK)]
    for number, block in enumerate(blocks, start=1):
        engine.study(block, number == len(blocks))
    pieces = []
    for number, block in enumerate(blocks, start=1):
        engine.process(block, number == len(blocks))
        while (ready := engine.available()) > 0:
            pieces.append(engine.retrieve(ready))
    found = np.concatenate(pieces, axis=1)[:, :length].T
    whole = np.pad(found, ((0, length - len(found)), (0, 0))).astype(np.float32)
    return whole[:, 0] if audio.ndim == 1 else whole


def fine_library() -> Any:
    """pylibrb. Raises StretchError where it is not installed."""
    try:
        import pylibrb
    except ImportError as error:
        hint = 'Run: pip install pylibrb (under the GPL). Or leave out stretch = "fine".'
        raise StretchError("The fine stretch needs pylibrb, which is not installed.", hint=hint) from error
    return pylibrb

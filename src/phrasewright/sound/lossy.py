"""Mixes in the kinds of files that code sound with a loss, held under the ceiling as a listener's decoder returns them.

A coder keeps loudness but not the wave: peaks come back higher by a tenth to half a decibel, more in one track than in
the next. So a coded mix is decoded and measured; where it passes the ceiling, the peaks alone are limited by as much
more and it is coded again. Loudness stays, which a headroom for the worst track would take from all of them.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import soundfile

from phrasewright.sound.encode import LOSSLESS, FileKind, sound_bytes, write_bytes
from phrasewright.sound.limiter import CEILING_DBTP, limit, peak_over_dbtp

if TYPE_CHECKING:
    from pathlib import Path

    from phrasewright.sound.modes import AudioArray

FIRST_LOWER_DB = {FileKind.OGG: 0.2, FileKind.MP3: 0.0}  # what most tracks need, so that few are coded twice
METER_DB = 0.02  # between what is measured here and what a meter that looks at the whole file reads
STEP_DB = 0.05  # further than what was measured: other peaks come out otherwise the next time
ROUNDS = 6


def write_mix(path: Path, audio: AudioArray, sample_rate: int) -> None:
    """Write a mix of the kind that its name ends in. audio: float32 (n, 2), its true peak at most the ceiling.

    Raises OutputError when it cannot be written, ValueError for a name that ends in none of ``FileKind``.
    """
    write_bytes(path, mix_bytes(FileKind(path.suffix.removeprefix(".")), audio, sample_rate))


def mix_bytes(kind: FileKind, audio: AudioArray, sample_rate: int) -> bytes:
    """A file whose sound, decoded, has a true peak of at most ``CEILING_DBTP``. audio: as for ``write_mix``."""
    if kind in LOSSLESS:
        return sound_bytes(kind, audio, sample_rate)
    lower_db = FIRST_LOWER_DB[kind]
    content = _coded(kind, audio, sample_rate, lower_db)
    for _ in range(ROUNDS):
        decoded, _ = soundfile.read(io.BytesIO(content), dtype="float32", always_2d=True)
        over_db = peak_over_dbtp(decoded, sample_rate, ceiling_dbtp=CEILING_DBTP - METER_DB) - CEILING_DBTP + METER_DB
        if over_db <= 0.0:
            break
        lower_db += over_db + STEP_DB
        content = _coded(kind, audio, sample_rate, lower_db)
    return content


def _coded(kind: FileKind, audio: AudioArray, sample_rate: int, lower_db: float) -> bytes:
    if lower_db > 0.0:
        audio = audio.copy()
        limit(audio, sample_rate, ceiling_dbtp=CEILING_DBTP - lower_db)
    return sound_bytes(kind, audio, sample_rate)

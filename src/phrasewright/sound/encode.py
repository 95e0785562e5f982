"""Audio files: FLAC, MP3, WAV.

A file is encoded in memory, written beside its place and then renamed, so a reader never sees half a file and a
full disk leaves the old one whole. None of the encoders stamps a time: same samples, same bytes.
"""

from __future__ import annotations

import io
import os
from typing import TYPE_CHECKING

import numpy as np
import soundfile

from phrasewright.errors import OutputError

if TYPE_CHECKING:
    from pathlib import Path

    from phrasewright.sound.modes import AudioArray

MP3_KBPS = 192
_MP3_LEVEL = (320 - MP3_KBPS) / (320 - 32)  # how the library counts constant rates: 320 kb/s at 0, 32 at 1
_FLAC_LEVEL = 0.625  # the encoder's own default, 5 of 8


def flac_bytes(audio: AudioArray, sample_rate: int) -> bytes:
    """16-bit FLAC. audio: float32 (n,) or (n, channels), full scale 1.0; louder is clipped."""
    return _encoded(audio, sample_rate, format="FLAC", subtype="PCM_16", compression_level=_FLAC_LEVEL)


def mp3_bytes(audio: AudioArray, sample_rate: int) -> bytes:
    """MP3 at a constant 192 kb/s. audio: float32 (n,) or (n, 2). Decoders give about 50 ms of padding back."""
    return _encoded(
        audio,
        sample_rate,
        format="MP3",
        subtype="MPEG_LAYER_III",
        bitrate_mode="CONSTANT",
        compression_level=_MP3_LEVEL,
    )


def wav_bytes(audio: AudioArray, sample_rate: int) -> bytes:
    """16-bit WAV. audio: float32 (n,) or (n, channels)."""
    return _encoded(audio, sample_rate, format="WAV", subtype="PCM_16")


def write_flac(path: Path, audio: AudioArray, sample_rate: int) -> None:
    """Write ``flac_bytes``. Raises OutputError when the file cannot be written."""
    write_bytes(path, flac_bytes(audio, sample_rate))


def write_mp3(path: Path, audio: AudioArray, sample_rate: int) -> None:
    """Write ``mp3_bytes``. Raises OutputError when the file cannot be written."""
    write_bytes(path, mp3_bytes(audio, sample_rate))


def write_wav(path: Path, audio: AudioArray, sample_rate: int) -> None:
    """Write ``wav_bytes``. Raises OutputError when the file cannot be written."""
    write_bytes(path, wav_bytes(audio, sample_rate))


def write_bytes(path: Path, content: bytes) -> None:
    """Put a whole file in place, or none. Raises OutputError when it cannot be written."""
    aside = path.with_name(f".{path.name}.part")
    try:
        aside.write_bytes(content)
        os.replace(aside, path)  # noqa: PTH105  (one call that replaces on every system)
    except OSError as error:
        _forget(aside)
        reason = error.strerror or "the system gave no reason"
        raise OutputError(
            f"{path} could not be written: {reason}.",
            hint="Check free space and permissions, or choose another folder.",
        ) from error


def _forget(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return


def _encoded(audio: AudioArray, sample_rate: int, **options: object) -> bytes:
    if audio.ndim > 2 or not np.isfinite(audio).all():
        raise ValueError("audio must be finite and of shape (n,) or (n, channels)")
    target = io.BytesIO()
    soundfile.write(target, np.clip(audio, -1.0, 1.0), sample_rate, **options)
    return target.getvalue()

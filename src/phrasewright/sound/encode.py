"""Audio files: FLAC, MP3, Ogg Vorbis, WAV.

A file is encoded in memory, written beside its place and then renamed, so a reader never sees half a file and a
full disk leaves the old one whole. None of the encoders stamps a time, and the serial number that an Ogg stream is
given by chance is made the same for all: same samples, same bytes.
"""

from __future__ import annotations

import io
import os
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import soundfile

from phrasewright.errors import OutputError
from phrasewright.sound.ogg import with_serial

if TYPE_CHECKING:
    from pathlib import Path

    from phrasewright.sound.modes import AudioArray

MP3_KBPS = 192
_MP3_LEVEL = (320 - MP3_KBPS) / (320 - 32)  # how the library counts constant rates: 320 kb/s at 0, 32 at 1
_FLAC_LEVEL = 0.625  # the encoder's own default, 5 of 8
_VORBIS_LEVEL = 0.4  # the encoder's quality 6 of 10: nominally 192 kb/s
BLOCK_FRAMES = 65_536  # given to the encoder at once: the Vorbis one fails on half a minute in one piece


class FileKind(StrEnum):
    """The kinds of sound files; the value is the end of the file's name."""

    FLAC = "flac"
    MP3 = "mp3"
    OGG = "ogg"
    WAV = "wav"


LOSSLESS = frozenset({FileKind.FLAC, FileKind.WAV})


def sound_bytes(kind: FileKind, audio: AudioArray, sample_rate: int) -> bytes:
    """A file of any kind. audio: float32 (n,) or (n, channels), full scale 1.0; louder is clipped."""
    return _CODERS[kind](audio, sample_rate)


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


def ogg_bytes(audio: AudioArray, sample_rate: int) -> bytes:
    """Ogg Vorbis, nominally 192 kb/s. audio: float32 (n,) or (n, channels)."""
    return with_serial(
        _encoded(audio, sample_rate, format="OGG", subtype="VORBIS", compression_level=_VORBIS_LEVEL), serial=1
    )


def wav_bytes(audio: AudioArray, sample_rate: int) -> bytes:
    """16-bit WAV. audio: float32 (n,) or (n, channels)."""
    return _encoded(audio, sample_rate, format="WAV", subtype="PCM_16")


_CODERS = {
    FileKind.FLAC: flac_bytes,
    FileKind.MP3: mp3_bytes,
    FileKind.OGG: ogg_bytes,
    FileKind.WAV: wav_bytes,
}


def write_sound(path: Path, audio: AudioArray, sample_rate: int) -> None:
    """Write a file of the kind that its name ends in.

    Raises OutputError when it cannot be written, ValueError for a name that ends in none of ``FileKind``.
    """
    write_bytes(path, sound_bytes(FileKind(path.suffix.removeprefix(".")), audio, sample_rate))


def write_bytes(path: Path, content: bytes) -> None:
    """Put a whole file in place, or none. Raises OutputError when it cannot be written."""
    aside = path.with_name(f".{path.name}.part")
    try:
        with aside.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())  # so that after a fall of the power there is no empty file under the name
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
    if audio.ndim > 2:
        raise ValueError("audio must be of shape (n,) or (n, channels)")
    target = io.BytesIO()
    channels = 1 if audio.ndim == 1 else audio.shape[1]
    with soundfile.SoundFile(target, "w", samplerate=sample_rate, channels=channels, **options) as file:
        for start in range(0, len(audio), BLOCK_FRAMES):
            block = audio[start : start + BLOCK_FRAMES]
            if not np.isfinite(block).all():
                raise ValueError("audio must be finite")
            file.write(np.clip(block, -1.0, 1.0))
    return target.getvalue()

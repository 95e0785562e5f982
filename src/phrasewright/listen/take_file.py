"""Read a student's take, whatever device it was recorded with: one channel at the listener's rate.

WAV, FLAC, MP3, Ogg and AIFF are decoded by libsndfile, everything else (M4A, MP4, WebM) by FFmpeg through PyAV; both
block by block. A take that breaks off is heard as far as it goes, and that is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import av
import numpy as np
import soundfile
import soxr

from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.recording import (
    BLOCK,
    DULL_BELOW_HZ,
    HIGHEST_RATE_HZ,
    RecordingError,
    check_numbers,
    check_place,
    claimed_frames,
    not_audio,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

SHORTEST_S, LONGEST_S = 0.5, 20 * 60.0
LOWEST_RATE_HZ = 4_000
CLIPPED, CLIPPED_SHARE = 0.999, 0.001  # of full scale; share of samples there from which a take is overdriven


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TakeAudio:
    """A take, decoded. audio: float32 (n,) at ``spectrum.RATE_HZ``; remarks: what the player should know about it."""

    audio: FloatArray
    remarks: tuple[str, ...] = ()

    @property
    def length_s(self) -> float:
        """Its length in s."""
        return len(self.audio) / RATE_HZ


class _Take:
    """What is decoded of one file, block by block."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.pieces: list[FloatArray] = []
        self.length = 0
        self.clipped = 0
        self.remarks: list[str] = []

    def add(self, piece: FloatArray) -> None:
        """Take a block at ``RATE_HZ``. Raises RecordingError when there are too many."""
        self.pieces.append(piece)
        self.length += len(piece)
        if self.length > LONGEST_S * RATE_HZ:
            raise _too_long(self.path, self.length / RATE_HZ)

    def breaks_off(self) -> None:
        """What follows cannot be decoded."""
        if self.length < SHORTEST_S * RATE_HZ:
            raise RecordingError(f"{self.path} is broken: nothing in it can be decoded.", hint="Copy it again.")
        self.remarks.append(f"The file breaks off after {self.length / RATE_HZ:.1f} s; it is heard up to there.")


def read_take(path: Path) -> TakeAudio:
    """Decode a take. Raises OutputError when it cannot be opened, RecordingError when it is no usable recording."""
    check_place(path)
    take = _Take(path)
    try:
        with soundfile.SoundFile(path) as file:
            _read_with_sndfile(take, file)
    except soundfile.LibsndfileError:
        _read_with_ffmpeg(take)
    audio = np.concatenate(take.pieces) if take.pieces else np.zeros(0, dtype=np.float32)
    if len(audio) < SHORTEST_S * RATE_HZ:
        what = f"{path} lasts {len(audio) / RATE_HZ:.1f} s, too short for a take."
        raise RecordingError(what, hint="Record a phrase or more.")
    if take.clipped > CLIPPED_SHARE * len(audio):
        take.remarks.append("The recording is overdriven in places: turn the input down a little next time.")
    return TakeAudio(audio=audio, remarks=tuple(take.remarks))


def _read_with_sndfile(take: _Take, file: soundfile.SoundFile) -> None:
    rate_hz = file.samplerate
    _check_rate(take, rate_hz)
    if rate_hz * LONGEST_S < file.frames < 2**62:
        raise _too_long(take.path, file.frames / rate_hz)
    change = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="float32")
    read = 0
    while True:
        try:
            block = file.read(BLOCK, dtype="float32", always_2d=True)
        except soundfile.LibsndfileError:
            take.breaks_off()
            return
        check_numbers(take.path, block, read / rate_hz)
        read += len(block)
        last = len(block) < BLOCK
        take.clipped += int((np.abs(block).max(axis=1, initial=0.0) >= CLIPPED).sum() * RATE_HZ / rate_hz)
        take.add(change.resample_chunk(block.mean(axis=1), last=last))
        if last:
            break
    if read < claimed_frames(take.path, file) - BLOCK // 16:
        take.breaks_off()


def _read_with_ffmpeg(take: _Take) -> None:
    try:
        with av.open(str(take.path), metadata_errors="ignore") as container:
            if not container.streams.audio:
                raise RecordingError(f"{take.path} has no sound in it.", hint="Record again, with the microphone on.")
            _check_rate(take, container.streams.audio[0].rate or RATE_HZ)
            for piece in _frames(container):
                check_numbers(take.path, piece, take.length / RATE_HZ)
                take.clipped += int((np.abs(piece) >= CLIPPED).sum())
                take.add(piece)
    except (av.FFmpegError, ValueError):
        if take.length == 0:
            raise not_audio(take.path) from None
        take.breaks_off()


def _frames(container: av.container.InputContainer) -> Iterator[FloatArray]:
    change = av.AudioResampler(format="flt", layout="mono", rate=RATE_HZ)
    for frame in container.decode(audio=0):
        for changed in change.resample(frame):
            yield changed.to_ndarray()[0].astype(np.float32, copy=False)
    for changed in change.resample(None):
        yield changed.to_ndarray()[0].astype(np.float32, copy=False)


def _check_rate(take: _Take, rate_hz: int) -> None:
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        hint = "Record at 44100 or 48000 samples a second."
        raise RecordingError(f"{take.path} has {rate_hz} samples a second, which is no usable rate.", hint=hint)
    if rate_hz < DULL_BELOW_HZ // 2:
        take.remarks.append(f"It has only {rate_hz} samples a second and sounds dull; 44100 or more is better.")


def _too_long(path: Path, length_s: float) -> RecordingError:
    lasts = f"{length_s / 60:.0f} minutes" if length_s < 7200 else f"{length_s / 3600:.1f} hours"
    what = f"{path} lasts {lasts}, and {LONGEST_S / 60:.0f} minutes is the limit for a take."
    return RecordingError(what, hint="Cut out the part that is to be heard.")

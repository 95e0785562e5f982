"""Read a recording, whatever its file is really made of, or say clearly why not.

WAV, FLAC, MP3, Ogg (Vorbis, Opus) and AIFF, told by what is in the file and not by its name. Files are decoded and
resampled block by block, so that one that claims to be short, or lasts for hours, fills no memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import soxr

from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.listen.onset_strength import RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

LONGEST_S, SHORTEST_S = 15 * 60.0, 4.0
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 384_000
DULL_BELOW_HZ = 32_000
SILENT = 10.0 ** (-60.0 / 20.0)  # peak of a silent recording: below -60 dB of full scale
FAR_TOO_LOUD = 64.0  # times full scale
BLOCK = 65_536  # frames decoded at once
FORMATS = {
    "WAV": ("WAV", (".wav", ".wave")),
    "WAVEX": ("WAV", (".wav", ".wave")),
    "RF64": ("WAV", (".wav", ".wave", ".rf64")),
    "FLAC": ("FLAC", (".flac",)),
    "MP3": ("MP3", (".mp3",)),
    "OGG": ("Ogg", (".ogg", ".oga", ".opus")),
    "AIFF": ("AIFF", (".aif", ".aiff", ".aifc")),
}
TAKES = "WAV, FLAC, MP3 or Ogg"
SAVE_AS = f"Save it as {TAKES} in any audio program."


class RecordingError(PhrasewrightError):
    """A recording that cannot be used."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """A recording, decoded. audio: float32 (n,) or (n, 2) at ``RATE``; remarks: what its owner should know."""

    audio: FloatArray
    remarks: tuple[str, ...] = ()

    @property
    def length_s(self) -> float:
        """Its length in s."""
        return len(self.audio) / RATE


def read_recording(path: Path) -> Recording:
    """Decode a file. Raises OutputError when it cannot be opened, RecordingError when it is no usable recording."""
    check_place(path)
    try:
        with soundfile.SoundFile(path) as file:
            remarks = list(_format_remarks(path, file))
            audio = _decoded(path, file)
    except soundfile.LibsndfileError:
        raise not_audio(path) from None
    _check_sound(path, audio)
    return Recording(audio=audio[:, 0] if audio.shape[1] == 1 else audio, remarks=tuple(remarks))


def check_place(path: Path) -> None:
    """Refuse what is no file, is empty or may not be read. Raises OutputError, RecordingError."""
    try:
        if path.is_dir():
            raise OutputError(f"{path} is a folder, not a recording.", hint="Name the file inside it.")
        if path.stat().st_size == 0:
            raise RecordingError(f"{path} is empty.", hint="Copy it again from where it comes from.")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise OutputError(f"There is no file {path}.", hint="Check the name.") from None
    except OSError as error:
        raise OutputError(f"{path} could not be read: {error.strerror}.") from error


def not_audio(path: Path) -> RecordingError:
    """Why a file that no decoder takes is none that can be read."""
    with path.open("rb") as file:
        head = file.read(64)
    if head[4:8] == b"ftyp":
        return RecordingError(f"{path} is an MP4 or M4A file, which is not read here.", hint=SAVE_AS)
    if head[:4] in (b"RIFF", b"fLaC", b"OggS", b"FORM", b"RF64") or head[:3] == b"ID3" or head[:2] == b"\xff\xfb":
        return RecordingError(f"{path} is broken: it begins like audio, but cannot be decoded.", hint="Copy it again.")
    if not any(byte < 9 for byte in head):
        return RecordingError(f"{path} is text, not audio.", hint=f"Name a recording: {TAKES}.")
    return RecordingError(f"{path} is no audio file that is read here.", hint=SAVE_AS)


def _format_remarks(path: Path, file: soundfile.SoundFile) -> Iterator[str]:
    """Refuse what cannot be used; what is unusual but works is said."""
    if file.format not in FORMATS:
        raise RecordingError(f"{path} is {file.format_info}, which is not read here.", hint=SAVE_AS)
    name, endings = FORMATS[file.format]
    if path.suffix.lower() not in endings:
        yield f"{path.name} is really {name}; it is read as that."
    rate_hz = file.samplerate
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        hint = "Save it at 44100 or 48000 samples a second."
        raise RecordingError(f"{path} has {rate_hz} samples a second, which is no usable rate.", hint=hint)
    if rate_hz < DULL_BELOW_HZ:
        yield f"It has only {rate_hz} samples a second and sounds dull: nothing above {rate_hz // 2000} kHz is in it."
    if file.channels > 2:
        yield f"Its {file.channels} channels are folded into one."
    if file.frames > LONGEST_S * rate_hz and file.frames < 2**62:
        raise _too_long(path, file.frames / rate_hz)


def _too_long(path: Path, length_s: float) -> RecordingError:
    lasts = f"{length_s / 60:.0f} minutes" if length_s < 7200 else f"{length_s / 3600:.1f} hours"
    return RecordingError(
        f"{path} lasts {lasts}, and {LONGEST_S / 60:.0f} minutes is the limit.", hint="Cut the piece out of it."
    )


def _decoded(path: Path, file: soundfile.SoundFile) -> FloatArray:
    """All of a file at ``RATE``, float32 (n, 1 or 2)."""
    channels = min(file.channels, 2) if file.channels <= 2 else 1
    most = int(LONGEST_S * RATE)
    claimed = int(min(max(file.frames, 0) / file.samplerate, LONGEST_S) * RATE) + RATE
    audio = np.empty((claimed, channels), dtype=np.float32)
    at = 0
    for block in _resampled(path, file, channels):
        if at + len(block) > most:
            raise _longer_than_it_says(path)
        if at + len(block) > len(audio):  # the file says that it is shorter than it is
            audio = np.concatenate([audio, np.empty((max(len(audio), len(block)), channels), dtype=np.float32)])
        audio[at : at + len(block)] = block
        at += len(block)
    return audio[:at]


def _longer_than_it_says(path: Path) -> RecordingError:
    what = f"{path} goes on for more than {LONGEST_S / 60:.0f} minutes, which is the limit."
    return RecordingError(what, hint="Cut the piece out of it.")


def _resampled(path: Path, file: soundfile.SoundFile, channels: int) -> Iterator[FloatArray]:
    change = soxr.ResampleStream(file.samplerate, RATE, channels, dtype="float32")
    read = 0
    while True:
        try:
            block = file.read(BLOCK, dtype="float32", always_2d=True)
        except soundfile.LibsndfileError:
            raise _breaks_off(path, read / file.samplerate) from None
        check_numbers(path, block, read / file.samplerate)
        read += len(block)
        folded = block if block.shape[1] == channels else block.mean(axis=1, keepdims=True)
        last = len(block) < BLOCK
        if file.samplerate == RATE:
            yield folded
        else:
            yield change.resample_chunk(folded, last=last).reshape(-1, channels)
        if last:
            break
    claimed = claimed_frames(path, file)
    if read < claimed - BLOCK // 16:
        raise _breaks_off(path, read / file.samplerate)


def claimed_frames(path: Path, file: soundfile.SoundFile) -> int:
    """How many frames the file says that it has; for WAV by its own header, which the decoder corrects in silence."""
    if file.format not in ("WAV", "WAVEX"):
        return int(file.frames) if file.format == "FLAC" else 0
    with path.open("rb") as raw:
        head = raw.read(4096)
    at, frame_bytes = 12, 0
    while at + 8 <= len(head):
        name, size = head[at : at + 4], int.from_bytes(head[at + 4 : at + 8], "little")
        if name == b"fmt ":
            frame_bytes = int.from_bytes(head[at + 20 : at + 22], "little")
        if name == b"data":
            streamed = size in (0, 0xFFFFFFFF)  # written by a program that did not know the length yet
            return 0 if streamed or not frame_bytes else size // frame_bytes
        at += 8 + size + size % 2
    return 0


def _breaks_off(path: Path, at_s: float) -> RecordingError:
    return RecordingError(
        f"{path} is broken: it breaks off after {at_s:.1f} s.", hint="Copy it again, or cut it there."
    )


def check_numbers(path: Path, block: FloatArray, at_s: float) -> None:
    """Refuse samples that no recording has. Raises RecordingError."""
    if not np.isfinite(block).all():
        raise RecordingError(f"{path} has samples that are no numbers, near {at_s:.1f} s.", hint="Export it again.")
    if len(block) and float(np.abs(block).max()) > FAR_TOO_LOUD:
        what = f"{path} has samples far above full scale, near {at_s:.1f} s."
        raise RecordingError(what, hint="Export it again, as 16 or 24 bit.")


def _check_sound(path: Path, audio: FloatArray) -> None:
    length_s = len(audio) / RATE
    if length_s < SHORTEST_S:
        what = f"{path} lasts {length_s:.1f} s, too short for a track."
        raise RecordingError(what, hint=f"A track has {SHORTEST_S:g} s at least.")
    if float((audio.max(axis=0) - audio.min(axis=0)).max()) < 2 * SILENT:
        raise RecordingError(f"{path} is silent.", hint="Check what was recorded, and its level.")

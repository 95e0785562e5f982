"""Every kind of recording a teacher may bring, good and bad: each is built here, and gets a clear answer."""

from __future__ import annotations

import re
import resource
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.listen import recording
from phrasewright.listen.onset_strength import RATE
from phrasewright.listen.recording import RecordingError, read_recording

KINDS = {
    "wav": {"format": "WAV", "subtype": "PCM_16"},
    "flac": {"format": "FLAC", "subtype": "PCM_16"},
    "mp3": {"format": "MP3", "subtype": "MPEG_LAYER_III"},
    "ogg": {"format": "OGG", "subtype": "VORBIS"},
    "opus": {"format": "OGG", "subtype": "OPUS"},
    "aiff": {"format": "AIFF", "subtype": "PCM_16"},
}


def tone(seconds: float = 5.0, rate: int = RATE, channels: int = 1, hz: float = 440.0) -> np.ndarray:
    wave = 0.3 * np.sin(2 * np.pi * hz * np.arange(int(seconds * rate)) / rate)
    return np.repeat(wave[:, None], channels, axis=1).astype(np.float32)


def saved(path: Path, audio: np.ndarray, rate: int = RATE, **options: str) -> Path:
    soundfile.write(path, audio, rate, **(options or {"subtype": "PCM_16"}))
    return path


def peak_hz(audio: np.ndarray) -> float:
    mono = audio if audio.ndim == 1 else audio[:, 0]
    return float(np.abs(np.fft.rfft(mono * np.hanning(len(mono)))).argmax() * RATE / len(mono))


@pytest.mark.parametrize("ending", KINDS)
def test_each_format_is_read(tmp_path: Path, ending: str) -> None:
    """Length within the padding of lossy coders (0.1 s), pitch unchanged, nothing to remark."""
    rate = 48_000 if ending == "opus" else RATE
    found = read_recording(saved(tmp_path / f"a.{ending}", tone(rate=rate, channels=2), rate, **KINDS[ending]))
    assert found.audio.shape[1] == 2
    assert found.audio.dtype == np.float32
    assert found.length_s == pytest.approx(5.0, abs=0.1)
    assert peak_hz(found.audio) == pytest.approx(440.0, abs=0.3)
    assert found.remarks == ()


@pytest.mark.parametrize(("rate", "dull"), [(8_000, True), (22_050, True), (48_000, False), (96_000, False)])
def test_other_rates_are_brought_to_ours(tmp_path: Path, rate: int, dull: bool) -> None:
    found = read_recording(saved(tmp_path / "a.wav", tone(rate=rate), rate))
    assert found.audio.ndim == 1
    assert found.length_s == pytest.approx(5.0, abs=0.002)
    assert peak_hz(found.audio) == pytest.approx(440.0, abs=0.3)
    assert [("dull" in remark) for remark in found.remarks] == [True] * dull


def test_many_channels_are_folded(tmp_path: Path) -> None:
    found = read_recording(saved(tmp_path / "a.wav", tone(channels=6)))
    assert found.audio.ndim == 1
    assert found.remarks == ("Its 6 channels are folded into one.",)


@pytest.mark.parametrize(("kind", "name"), [("mp3", "take.wav"), ("flac", "take.mp3"), ("wav", "take.ogg")])
def test_a_wrong_name_is_seen_through_and_said(tmp_path: Path, kind: str, name: str) -> None:
    path = saved(tmp_path / f"right.{kind}", tone(), **KINDS[kind]).rename(tmp_path / name)
    (remark,) = read_recording(path).remarks
    assert remark.startswith(f"{name} is really {kind.upper()}")


def refused(path: Path) -> str:
    with pytest.raises(PhrasewrightError) as caught:
        read_recording(path)
    assert caught.value.hint
    return caught.value.message


def test_what_is_not_there_or_no_file(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="There is no file"):
        read_recording(tmp_path / "none.wav")
    with pytest.raises(OutputError, match="is a folder"):
        read_recording(tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"Dear all, here is the track.\n" * 9, "is text, not audio"),
        (b"\x00\x00\x00\x18ftypM4A \x00\x00\x00\x00", "is an MP4 or M4A file"),
        (b"RIFF\x24\x00\x00\x00WAVE", "is broken: it begins like audio"),
        (b"fLaC" + bytes(200), "is broken: it begins like audio"),
        (bytes(range(1, 256)) * 8, "is no audio file that is read here"),
    ],
)
def test_what_is_no_audio(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "track.mp3"
    path.write_bytes(content)
    assert words in refused(path)


@pytest.mark.parametrize("kind", ["wav", "flac"])
def test_a_file_that_was_cut_off(tmp_path: Path, kind: str) -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, 8 * RATE).astype(np.float32)
    path = saved(tmp_path / f"a.{kind}", noise, **KINDS[kind])
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
    assert re.search(r"breaks off after [456]\.\d s", refused(path))


def test_silence_and_what_is_too_short(tmp_path: Path) -> None:
    assert "is silent" in refused(saved(tmp_path / "a.wav", np.zeros(5 * RATE, dtype=np.float32)))
    constant = np.full(5 * RATE, 0.2, dtype=np.float32)
    assert "is silent" in refused(saved(tmp_path / "b.wav", constant))
    assert "too short" in refused(saved(tmp_path / "c.wav", tone(1.0)))
    assert "too short" in refused(saved(tmp_path / "d.wav", tone(0.0)))


@pytest.mark.parametrize(("value", "words"), [(np.nan, "no numbers"), (np.inf, "no numbers"), (1e30, "far above")])
def test_samples_that_are_no_sound(tmp_path: Path, value: float, words: str) -> None:
    audio = tone()
    audio[3 * RATE] = value
    message = refused(saved(tmp_path / "a.wav", audio, subtype="FLOAT"))
    assert words in message
    assert "near" in message


def test_rates_that_nobody_records_at(tmp_path: Path) -> None:
    assert "no usable rate" in refused(saved(tmp_path / "a.wav", tone(rate=4_000), 4_000))


def test_three_hours_are_refused_at_once(tmp_path: Path) -> None:
    """By the header, before anything is decoded."""
    path = tmp_path / "long.flac"
    with soundfile.SoundFile(path, "w", 8_000, 1, subtype="PCM_16") as file:
        for _ in range(3 * 60):
            file.write(np.zeros(60 * 8_000, dtype=np.int16))
    assert "lasts 3.0 hours" in refused(path)


def test_a_header_that_lies_fills_no_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A stream whose header knows no length is stopped at the limit; one that claims gigabytes takes what is there."""
    monkeypatch.setattr(recording, "LONGEST_S", 6.0)
    endless = saved(tmp_path / "endless.wav", tone(9.0))
    raw = bytearray(endless.read_bytes())
    at = raw.index(b"data") + 4
    raw[at : at + 4] = struct.pack("<I", 2)  # claims one sample
    endless.write_bytes(bytes(raw))
    assert refused(endless)
    boasting = saved(tmp_path / "boasting.wav", tone(5.0))
    raw = bytearray(boasting.read_bytes())
    at = raw.index(b"data") + 4
    raw[at : at + 4] = struct.pack("<I", 0x7FFFFFF0)
    boasting.write_bytes(bytes(raw))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert refused(boasting)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000  # kilobytes


def test_errors_end_the_command_with_two() -> None:
    assert RecordingError.exit_code == 2

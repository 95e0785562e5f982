"""Takes as devices record them: every kind of file, every rate, whole or broken."""

from __future__ import annotations

import contextlib
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.errors import PhrasewrightError
from phrasewright.listen import take_file
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.take_file import read_take


def _tone(rate_hz: int, seconds: float = 2.0, hz: float = 440.0) -> np.ndarray:
    return (0.4 * np.sin(2 * np.pi * hz * np.arange(int(seconds * rate_hz)) / rate_hz)).astype(np.float32)


def _pitch_hz(audio: np.ndarray) -> float:
    """Where the spectrum is strongest."""
    return float(np.argmax(np.abs(np.fft.rfft(audio * np.hanning(len(audio)))))) * RATE_HZ / len(audio)


def _write_with_ffmpeg(path: Path, codec: str, audio: np.ndarray, rate_hz: int) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate_hz, layout="mono")
        for begin in range(0, len(audio), 960):
            piece = audio[begin : begin + 960]
            frame = av.AudioFrame.from_ndarray(piece[None].astype(np.float32), format="fltp", layout="mono")
            frame.sample_rate, frame.pts = rate_hz, begin
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


@pytest.mark.parametrize(
    ("name", "rate_hz", "subtype"),
    [
        ("a.wav", 44_100, "PCM_16"),
        ("a.wav", 8_000, "PCM_16"),
        ("a.wav", 96_000, "PCM_24"),
        ("a.wav", 48_000, "FLOAT"),
        ("a.flac", 48_000, "PCM_16"),
        ("a.mp3", 44_100, "MPEG_LAYER_III"),
        ("a.ogg", 44_100, "VORBIS"),
    ],
)
def test_every_kind_and_rate(tmp_path: Path, name: str, rate_hz: int, subtype: str) -> None:
    """A tone keeps its pitch and its length."""
    soundfile.write(tmp_path / name, _tone(rate_hz), rate_hz, subtype=subtype)
    take = read_take(tmp_path / name)
    assert take.length_s == pytest.approx(2.0, abs=0.1)
    assert _pitch_hz(take.audio) == pytest.approx(440.0, abs=1.0)


@pytest.mark.parametrize(("name", "codec"), [("a.m4a", "aac"), ("a.webm", "libopus"), ("a.mp4", "aac")])
def test_what_phones_and_browsers_record(tmp_path: Path, name: str, codec: str) -> None:
    """M4A, MP4 and WebM, the same."""
    _write_with_ffmpeg(tmp_path / name, codec, _tone(48_000), 48_000)
    take = read_take(tmp_path / name)
    assert take.length_s == pytest.approx(2.0, abs=0.15)
    assert _pitch_hz(take.audio) == pytest.approx(440.0, abs=1.0)


def test_two_channels_are_folded(tmp_path: Path) -> None:
    """A guitar in one channel only is heard."""
    soundfile.write(tmp_path / "a.wav", np.column_stack([_tone(44_100), np.zeros(88_200)]), 44_100)
    assert _pitch_hz(read_take(tmp_path / "a.wav").audio) == pytest.approx(440.0, abs=1.0)


def test_the_content_counts_not_the_name(tmp_path: Path) -> None:
    """A FLAC named .wav is read as what it is."""
    soundfile.write(tmp_path / "a.flac", _tone(44_100), 44_100)
    (tmp_path / "a.flac").rename(tmp_path / "a.wav")
    assert read_take(tmp_path / "a.wav").length_s == pytest.approx(2.0, abs=0.01)


def test_a_take_that_breaks_off_is_heard_so_far(tmp_path: Path) -> None:
    """Half a file: half the take, and a word about it; next to nothing of it: refused."""
    whole = tmp_path / "a.wav"
    soundfile.write(whole, _tone(44_100, 6.0), 44_100)
    content = whole.read_bytes()
    whole.write_bytes(content[: len(content) // 2])
    take = read_take(whole)
    assert take.length_s == pytest.approx(3.0, abs=0.05)
    assert "breaks off after 3.0 s" in take.remarks[0]
    whole.write_bytes(content[:300])
    with pytest.raises(PhrasewrightError, match="nothing in it can be decoded"):
        read_take(whole)


def test_a_broken_m4a_is_heard_so_far_or_refused(tmp_path: Path) -> None:
    """A WebM that is cut is heard up to there; an M4A without its index is refused in plain words."""
    _write_with_ffmpeg(tmp_path / "a.webm", "libopus", _tone(48_000, 6.0), 48_000)
    content = (tmp_path / "a.webm").read_bytes()
    (tmp_path / "a.webm").write_bytes(content[: len(content) * 2 // 3])
    assert 2.0 < read_take(tmp_path / "a.webm").length_s < 6.0
    _write_with_ffmpeg(tmp_path / "a.m4a", "aac", _tone(48_000, 6.0), 48_000)
    content = (tmp_path / "a.m4a").read_bytes()
    (tmp_path / "a.m4a").write_bytes(content[: len(content) // 2])
    with pytest.raises(PhrasewrightError):
        read_take(tmp_path / "a.m4a")


def test_an_overdriven_take_is_told(tmp_path: Path) -> None:
    """Samples at full scale."""
    soundfile.write(tmp_path / "a.wav", np.clip(_tone(44_100) * 5, -1, 1), 44_100)
    assert any("overdriven" in remark for remark in read_take(tmp_path / "a.wav").remarks)


def test_what_is_no_take_is_refused(tmp_path: Path) -> None:
    """Empty, text, too short, not there, a folder, samples that are no numbers: each in plain words."""
    (tmp_path / "empty.wav").touch()
    (tmp_path / "words.wav").write_text("These are words. " * 40)
    soundfile.write(tmp_path / "short.wav", _tone(44_100, 0.2), 44_100)
    soundfile.write(tmp_path / "nan.wav", np.full(44_100, np.nan, dtype=np.float32), 44_100, subtype="FLOAT")
    for name, words in (
        ("empty.wav", "is empty"),
        ("words.wav", "is text"),
        ("short.wav", "too short for a take"),
        ("nan.wav", "no numbers"),
        ("missing.wav", "no file"),
        (".", "is a folder"),
    ):
        with pytest.raises(PhrasewrightError, match=words):
            read_take(tmp_path / name)


def test_an_hour_is_too_long(tmp_path: Path) -> None:
    """An hour-long file is refused at once, with what to do; one that hides its length, as soon as it shows."""
    silence = np.zeros(8_000 * 60, dtype=np.int16)
    with soundfile.SoundFile(tmp_path / "hour.flac", "w", 8_000, 1, subtype="PCM_16") as file:
        for _ in range(60):
            file.write(silence)
    with pytest.raises(PhrasewrightError, match="60 minutes, and 20 minutes is the limit") as told:
        read_take(tmp_path / "hour.flac")
    assert "Cut out" in told.value.hint
    _write_with_ffmpeg(tmp_path / "long.webm", "libopus", np.zeros(48_000 * 30, dtype=np.float32), 48_000)
    limit = take_file.LONGEST_S
    try:
        take_file.LONGEST_S = 10.0
        with pytest.raises(PhrasewrightError, match="is the limit"):
            read_take(tmp_path / "long.webm")
    finally:
        take_file.LONGEST_S = limit


@settings(max_examples=60)
@given(
    st.binary(min_size=1, max_size=3000), st.sampled_from([b"", b"RIFF\x00\x10\x00\x00WAVE", b"fLaC", b"\x1aE\xdf\xa3"])
)
def test_no_bytes_break_the_reader(tmp_path_factory: pytest.TempPathFactory, content: bytes, head: bytes) -> None:
    """Whatever a file holds, it is read or refused in plain words."""
    path = tmp_path_factory.mktemp("bytes") / "take.wav"
    path.write_bytes(head + content)
    with contextlib.suppress(PhrasewrightError):
        assert read_take(path).length_s >= take_file.SHORTEST_S

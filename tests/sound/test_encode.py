"""Files: what is written can be read back, whole or not at all, same bytes each time."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, rms

from phrasewright.errors import OutputError
from phrasewright.sound import encode
from phrasewright.sound.encode import FileKind
from phrasewright.sound.ogg import checksum, with_serial


def tone(channels=2, length=RATE):
    time_s = np.arange(length) / RATE
    one = (0.4 * np.sin(2 * np.pi * 330.0 * time_s) * np.exp(-time_s)).astype(np.float32)
    return one if channels == 1 else np.stack([one] * channels, axis=1)


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("coder", [encode.flac_bytes, encode.wav_bytes])
def test_lossless_round_trip(coder, channels):
    """FLAC and WAV give back every sample to 16 bits."""
    back, rate = soundfile.read(io.BytesIO(coder(tone(channels), RATE)), dtype="float32")
    assert rate == RATE
    assert back.shape == tone(channels).shape
    assert np.abs(back - tone(channels)).max() <= 1.0 / 32_767


@pytest.mark.parametrize("channels", [1, 2])
def test_mp3_round_trip(channels):
    """MP3 gives back rate, channels, level within 0.5 dB and the waveform, at 192 kb/s within 2 %."""
    audio = tone(channels, 3 * RATE)
    coded = encode.mp3_bytes(audio, RATE)
    back, rate = soundfile.read(io.BytesIO(coded), dtype="float32", always_2d=True)
    assert rate == RATE
    assert back.shape[1] == channels
    assert 8 * len(coded) / (len(back) / RATE) / 1000.0 == pytest.approx(192.0, rel=0.02)
    dry = audio.reshape(len(audio), -1)[:, 0]
    lag = int(np.argmax(np.correlate(back[:8000, 0], dry[:4000], mode="valid")))
    piece = back[lag : lag + RATE, 0]
    gain = float(piece @ dry[:RATE] / (dry[:RATE] @ dry[:RATE]))
    assert 0.95 < gain < 1.01  # the encoder turns down by 0.27 dB to keep its own overshoot from clipping
    assert rms(piece / gain - dry[: len(piece)]) < 0.02 * rms(piece)


@pytest.mark.parametrize("kind", FileKind)
def test_same_samples_same_bytes(kind):
    """No time stamps, no chance numbers: encoding twice gives the same file."""
    assert encode.sound_bytes(kind, tone(), RATE) == encode.sound_bytes(kind, tone(), RATE)


@pytest.mark.parametrize("channels", [1, 2])
def test_ogg_round_trip(channels):
    """A minute of Ogg Vorbis gives back every frame in its place, the wave within 4 % of its level."""
    audio = np.concatenate([tone(channels)] * 60)
    back, rate = soundfile.read(io.BytesIO(encode.ogg_bytes(audio, RATE)), dtype="float32")
    assert (rate, back.shape) == (RATE, audio.shape)
    assert rms(back - audio) < 0.04 * rms(audio)


def test_ogg_pages_keep_what_they_carry():
    """Another serial number on every page, a right checksum, and the same sound; a page cut off is refused."""
    coded = encode.ogg_bytes(tone(2, 3 * RATE), RATE)
    other = with_serial(coded, 77)
    assert other != coded
    assert with_serial(other, 1) == coded
    assert np.array_equal(*(soundfile.read(io.BytesIO(content))[0] for content in (coded, other)))
    for broken in (coded[:-5], b"RIFF" + coded[4:]):
        with pytest.raises(ValueError):
            with_serial(broken, 1)


@given(st.binary(max_size=300))
def test_ogg_checksum(page):
    """The checksum is the remainder of long division by 0x04C11DB7, bit by bit (RFC 3533, section 6)."""
    remainder = 0
    for byte in page:
        remainder ^= byte << 24
        for _ in range(8):
            remainder = (remainder << 1 ^ 0x04C11DB7 if remainder >> 31 else remainder << 1) & 0xFFFFFFFF
    assert checksum(page) == remainder


@given(peak=st.floats(0.0, 8.0))
@settings(max_examples=10)
def test_too_loud_is_clipped_not_wrapped(peak):
    """Samples over full scale stay at full scale and keep their sign."""
    audio = (tone(1, 2000) * np.float32(peak)).astype(np.float32)
    back, _ = soundfile.read(io.BytesIO(encode.flac_bytes(audio, RATE)), dtype="float32")
    assert np.abs(back - np.clip(audio, -1, 1)).max() <= 2.0 / 32_767


@pytest.mark.parametrize("bad", [np.full(10, np.nan, np.float32), np.zeros((2, 2, 2), np.float32)])
def test_what_is_no_audio_is_refused(bad):
    """NaN, infinity and strange shapes raise ValueError."""
    with pytest.raises(ValueError):
        encode.flac_bytes(bad, RATE)


@pytest.mark.parametrize("kind", FileKind)
def test_files_are_written_whole(tmp_path, kind):
    """The file holds the encoder's bytes, of the kind its name says, and nothing is left beside it."""
    path = tmp_path / f"take.{kind}"
    encode.write_sound(path, tone(), RATE)
    assert path.read_bytes() == encode.sound_bytes(kind, tone(), RATE)
    assert soundfile.info(path).format == str(kind).upper()
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_folder_that_is_not_there_is_an_output_error(tmp_path):
    """The message names the file and says what to do."""
    with pytest.raises(OutputError, match="could not be written"):
        encode.write_sound(tmp_path / "missing" / "a.wav", tone(), RATE)


def test_a_full_disk_keeps_the_old_file(tmp_path, monkeypatch):
    """When the disk fills up the old file stays, the half one is removed, and the error says so."""
    path = tmp_path / "a.wav"
    path.write_bytes(b"old")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(encode.os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        encode.write_sound(path, tone(), RATE)
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.wav"]

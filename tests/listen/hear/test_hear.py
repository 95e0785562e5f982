"""What is heard, against recorded notes and recorded players (docs/sources.md 4), by mir_eval's measure."""

from __future__ import annotations

import csv
from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_lines import in_a_room, sample_line

from phrasewright.listen.hear.hear import hear
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.heard import Hearing
from phrasewright.listen.take_file import read_take
from phrasewright.units import hz_from_midi


def _f(hearing: Hearing, truth: np.ndarray, *, offsets: bool = False) -> float:
    """Note F: onsets within 50 ms, pitch within 50 cents, offsets within 20 per cent or 50 ms where asked for."""
    notes = [note for note in hearing.notes if not note.is_dead]
    spans = np.array([(note.onset_s, note.offset_s) for note in notes]).reshape(-1, 2)
    pitches_hz = np.array([hz_from_midi(note.pitch_midi) for note in notes])
    ratio = 0.2 if offsets else None
    scores = mir_eval.transcription.precision_recall_f1_overlap(
        truth[:, :2], truth[:, 2], spans, pitches_hz, offset_ratio=ratio
    )
    return float(scores[2])


@pytest.mark.parametrize("guitar", ["acoustic", "electric", "nylon"])
def test_recorded_notes_in_a_line(data_dir: Path, guitar: str) -> None:
    """Every note of a line of recorded notes is heard, on time, in tune and to its end."""
    audio, truth = sample_line(data_dir, guitar, seed=3)
    hearing = hear(audio)
    assert _f(hearing, truth) >= 0.97
    assert _f(hearing, truth, offsets=True) >= 0.9
    late_s = [min(hearing.notes, key=lambda note: abs(note.onset_s - on)).onset_s - on for on in truth[:, 0]]
    assert abs(float(np.median(late_s))) < 0.004
    assert min(note.confidence for note in hearing.notes) > 0.5


def test_a_room_noise_and_a_phone(data_dir: Path) -> None:
    """The same in a room, under noise, and through the small microphone of a phone."""
    audio, truth = sample_line(data_dir, "acoustic", seed=4)
    noise = np.random.default_rng(0).standard_normal(len(audio)).astype(np.float32) * 0.004
    spectrum = np.fft.rfft(audio)
    hz = np.fft.rfftfreq(len(audio), 1 / RATE_HZ)
    phone = np.fft.irfft(spectrum * ((hz > 200) & (hz < 3400)), len(audio)).astype(np.float32)
    for spoiled in (in_a_room(audio, decay_s=0.5, seed=1), audio + noise, phone, np.clip(audio * 6, -1, 1)):
        assert _f(hear(spoiled), truth) >= 0.95


@pytest.mark.parametrize(("take", "least"), [("00_BN1-129-Eb_solo", 0.80), ("05_Rock1-130-A_solo", 0.92)])
def test_real_players(data_dir: Path, take: str, least: float) -> None:
    """Two annotated solos of GuitarSet (Xi et al., ISMIR 2018), never trained on; the first with ringing notes."""
    heard = hear(read_take(data_dir / "guitarset_audio" / f"{take}_mic.wav").audio)
    with (data_dir / "guitarset" / "notes" / f"{take}.csv").open(encoding="utf-8") as file:
        rows = [
            (float(r["onset_s"]), float(r["duration_s"]), float(r["midi_pitch_float"])) for r in csv.DictReader(file)
        ]
    truth = np.array([(onset, onset + lasts, hz_from_midi(midi)) for onset, lasts, midi in rows])
    assert _f(heard, truth) >= least


def test_the_tuning_of_a_take_is_heard(data_dir: Path) -> None:
    """A line played 30 cents low is told to be so."""
    audio, _ = sample_line(data_dir, "nylon", seed=5)
    slower = np.interp(np.arange(0, len(audio), 2 ** (-30 / 1200)), np.arange(len(audio)), audio).astype(np.float32)
    straight, low = hear(audio).tuning_cents, hear(slower).tuning_cents
    assert straight is not None
    assert low is not None
    assert low - straight == pytest.approx(-30.0, abs=3.0)


def test_silence_and_noise_have_no_notes() -> None:
    """Nothing is invented, and the take says why."""
    silence = hear(np.zeros(3 * RATE_HZ, dtype=np.float32))
    assert silence.notes == ()
    assert "silent" in silence.remarks[0]
    noise = hear(np.random.default_rng(1).standard_normal(5 * RATE_HZ).astype(np.float32) * 0.05)
    assert noise.notes == ()
    assert noise.remarks


def test_chords_are_told(data_dir: Path) -> None:
    """Full chords are no line: what is heard comes with a word of care."""
    lines = [sample_line(data_dir, "acoustic", seed=seed, length_s=8.0)[0] for seed in (1, 2, 3, 4, 5)]
    heard = hear(np.sum(lines, axis=0).astype(np.float32))
    assert any("chords" in remark for remark in heard.remarks)
    assert not heard.is_line
    assert hear(lines[0].astype(np.float32)).is_line


def test_loudness_does_not_matter(data_dir: Path) -> None:
    """The same take 30 dB softer has the same notes, as much softer."""
    audio, _ = sample_line(data_dir, "electric", seed=6, length_s=6.0)
    loud, soft = hear(audio), hear(audio * np.float32(10 ** (-30 / 20)))
    assert [round(note.onset_s, 2) for note in loud.notes] == [round(note.onset_s, 2) for note in soft.notes]
    for here, there in zip(loud.notes, soft.notes, strict=True):
        assert here.level_db - there.level_db == pytest.approx(30.0, abs=0.1)


@settings(max_examples=12)
@given(st.lists(st.floats(-1, 1, width=32), min_size=1, max_size=400), st.integers(1, 60))
def test_any_sound_is_heard_without_failing(samples: list[float], times: int) -> None:
    """Whatever the sound, notes lie inside the take, in order, with confidences that are odds."""
    audio = np.tile(np.array(samples, dtype=np.float32), times)
    hearing = hear(audio)
    assert all(0 <= note.onset_s < note.offset_s <= hearing.length_s + 0.5 for note in hearing.notes)


def test_a_long_take_is_heard_in_pieces_as_a_whole(data_dir: Path) -> None:
    """What is heard does not depend on where the pieces are cut: after 3 s of silence, the same notes."""
    audio, truth = sample_line(data_dir, "nylon", seed=8)
    late = np.concatenate([np.zeros(3 * RATE_HZ, dtype=np.float32), audio])
    assert _f(hear(late), truth + np.array([3.0, 3.0, 0.0])) >= 0.97


def test_the_network_is_small_and_offline() -> None:
    """The weights are part of the package, below half a megabyte."""
    from importlib import resources

    weights = resources.files("phrasewright.listen.hear").joinpath("ear.onnx").read_bytes()
    assert len(weights) < 500_000
    assert b"http" not in weights


def test_reading_a_file_and_its_samples_agree(tmp_path: Path, data_dir: Path) -> None:
    """A take from a file is what was written, at the listener's rate."""
    audio, truth = sample_line(data_dir, "acoustic", seed=9, length_s=6.0)
    soundfile.write(tmp_path / "take.wav", audio, RATE_HZ, subtype="FLOAT")
    assert _f(hear(read_take(tmp_path / "take.wav").audio), truth) >= 0.95

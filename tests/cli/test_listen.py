"""``phrasewright listen`` as a student meets it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from phrasewright.sound.voices import Voice, render_note

RATE_HZ = 44_100
MELODY = (64, 67, 69, 71, 69, 67)


def _listen(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "phrasewright", "listen", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


@pytest.fixture
def take(tmp_path: Path) -> Path:
    """Six notes of our own electric guitar, half a second apart."""
    audio = np.zeros(4 * RATE_HZ, dtype=np.float32)
    for number, midi in enumerate(MELODY):
        note = render_note(Voice.GUITAR, midi, 0.4, 0.8)
        begin = int((0.5 + 0.5 * number) * RATE_HZ)
        audio[begin : begin + len(note)] += note[: len(audio) - begin]
    soundfile.write(tmp_path / "monday.flac", audio, RATE_HZ)
    return tmp_path / "monday.flac"


def test_a_take_becomes_notes(take: Path, tmp_path: Path) -> None:
    """The file has every note with its time, pitch, place and how sure it is."""
    done = _listen(take, "--out", tmp_path / "heard")
    assert done.returncode == 0, done.stderr
    assert "6 notes in 4.0 s" in done.stdout
    document = json.loads((tmp_path / "heard" / "monday.json").read_text(encoding="utf-8"))
    notes = document["notes"]
    assert [round(note["pitch_midi"]) for note in notes] == list(MELODY)
    assert [note["onset_s"] for note in notes] == pytest.approx([0.5 + 0.5 * n for n in range(6)], abs=0.006)
    assert all(note["confidence"] > 0.9 and note["string"] and note["fret"] is not None for note in notes)
    assert all(abs(note["pitch_midi"] - round(note["pitch_midi"])) < 0.03 for note in notes)


def test_one_bad_take_does_not_stop_the_others(take: Path, tmp_path: Path) -> None:
    """The others are heard, the bad one is told, the exit code says so."""
    (tmp_path / "words.wav").write_text("not a sound " * 50)
    done = _listen(tmp_path / "words.wav", take, "--out", tmp_path / "heard")
    assert done.returncode == 2
    assert "words.wav is text, not audio" in done.stderr
    assert "Traceback" not in done.stderr
    assert {path.name for path in (tmp_path / "heard").iterdir()} == {"monday.json", "monday.html", "monday.pdf"}


def test_a_report_for_machines(take: Path, tmp_path: Path) -> None:
    """--json prints what was heard and where it was written."""
    (document,) = json.loads(_listen(take, "--json", "--out", tmp_path / "heard").stdout)
    assert document["notes"] == 6
    assert document["error"] is None
    assert document["written"] == [str(tmp_path / "heard" / f"monday.{kind}") for kind in ("json", "html", "pdf")]


def test_takes_of_one_name_are_refused(take: Path, tmp_path: Path) -> None:
    """Two takes that would be written to one file are told before anything is heard."""
    other = tmp_path / "other"
    other.mkdir()
    (other / "monday.flac").write_bytes(take.read_bytes())
    done = _listen(take, other / "monday.flac", "--out", tmp_path / "heard")
    assert done.returncode == 3
    assert "both be written to monday.json" in done.stderr


def test_the_track_is_taken_out(take: Path, tmp_path: Path) -> None:
    """A take that has its track in it: the notes of the player alone, and where the track begins."""
    lead, _ = soundfile.read(take, dtype="float32")
    lead = np.tile(lead, 6)
    rng = np.random.default_rng(2)
    track = np.zeros(len(lead), dtype=np.float32)
    for number, begin in enumerate(rng.integers(0, len(track) - RATE_HZ, 60)):
        note = render_note(Voice.BASS, int(rng.integers(30, 42)), 0.6, 0.9, seed=number % 4)
        track[begin : begin + len(note)] += note[: len(track) - begin]
    late = int(0.25 * RATE_HZ)
    mixed = lead.copy()
    mixed[late:] += 0.5 * track[:-late]
    soundfile.write(tmp_path / "over.flac", mixed * 0.5, RATE_HZ)
    soundfile.write(tmp_path / "track.flac", track * 0.5, RATE_HZ)
    done = _listen(tmp_path / "over.flac", "--track", tmp_path / "track.flac", "--out", tmp_path / "heard")
    assert done.returncode == 0, done.stderr
    assert "begins 0.250 s into it" in done.stdout
    document = json.loads((tmp_path / "heard" / "over.json").read_text(encoding="utf-8"))
    assert document["track"]["offset_s"] == pytest.approx(0.25, abs=0.001)
    heard = [round(note["pitch_midi"]) for note in document["notes"]]
    assert heard == list(MELODY) * 6


def test_a_track_that_is_not_there_is_told(take: Path, tmp_path: Path) -> None:
    """The take is heard as it is."""
    noise = np.random.default_rng(0).standard_normal(10 * RATE_HZ) * 0.1
    soundfile.write(tmp_path / "track.flac", noise, RATE_HZ)
    done = _listen(take, "--track", tmp_path / "track.flac", "--out", tmp_path / "heard")
    assert "track is not heard in this take" in done.stdout
    assert "6 notes" in done.stdout


def test_wishes_that_do_not_go_together_are_told(take: Path) -> None:
    """An exercise without its lesson, an instrument beside a lesson's own, a track in a take that has none."""
    assert "Name the lesson file with --lesson" in _listen(take, "--exercise", "1").stderr
    assert "--alone or --track" in _listen(take, "--alone", "--track", take).stderr
    done = _listen(take, "--lesson", "nowhere.toml")
    assert done.returncode != 0
    assert "There is no file nowhere.toml" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_silent_take_of_a_lesson_is_told(tmp_path: Path) -> None:
    """No notes, no tempo, no findings; a word why, and a report all the same."""
    soundfile.write(tmp_path / "quiet.flac", np.zeros(3 * RATE_HZ), RATE_HZ)
    lesson = tmp_path / "air.toml"
    made = [sys.executable, "-m", "phrasewright", "new", str(lesson)]
    subprocess.run(made, check=True, capture_output=True, timeout=60)
    done = _listen(tmp_path / "quiet.flac", "--lesson", lesson, "--alone", "--out", tmp_path / "heard")
    assert done.returncode == 0, done.stderr
    assert "The take is silent" in done.stdout
    document = json.loads((tmp_path / "heard" / "quiet.json").read_text(encoding="utf-8"))
    assert (document["notes"], document["findings"], document["tempo_bpm"], document["offset_s"]) == (
        [],
        [],
        None,
        None,
    )
    assert "No notes were heard" in (tmp_path / "heard" / "quiet.html").read_text(encoding="utf-8")

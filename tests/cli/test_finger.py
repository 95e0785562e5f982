"""``phrasewright finger`` as a person meets it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import mido
import pytest

HEAD = "onset_s,duration_s,midi_pitch_float\n"
RUN = [(0.0, 57), (0.25, 60), (0.5, 62), (0.75, 64)]


def _finger(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "phrasewright", "finger", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Four notes of A minor pentatonic."""
    path = tmp_path / "run.csv"
    path.write_text(HEAD + "".join(f"{onset},0.25,{pitch}\n" for onset, pitch in RUN))
    return path


def _notes(path: Path) -> list[dict[str, object]]:
    found = json.loads(path.read_text("utf-8"))["notes"]
    assert isinstance(found, list)
    return found


def test_a_table_becomes_json_and_tablature(table: Path, tmp_path: Path) -> None:
    """One object a note, string 1 = highest, and a tablature beside it; nothing half-written stays."""
    out = tmp_path / "out"
    done = _finger(table, "--out", out, "--stay-in", "5-8", "--picking", "alternate")
    assert done.returncode == 0, done.stderr
    notes = _notes(out / "run.json")
    assert [(note["string"], note["fret"], note["finger"]) for note in notes] == [
        (4, 7, 3),
        (3, 5, 1),
        (3, 7, 3),
        (2, 5, 1),
    ]
    assert [note["pick"] for note in notes] == ["down", "up", "down", "up"]
    assert [(note["onset_s"], note["duration_s"], note["pitch_midi"]) for note in notes] == [
        (onset, 0.25, pitch) for onset, pitch in RUN
    ]
    assert "D|-7-" in (out / "run.txt").read_text("utf-8")
    assert sorted(path.name for path in out.iterdir()) == ["run.json", "run.txt"]


def test_without_picking_no_note_says_how(table: Path, tmp_path: Path) -> None:
    assert _finger(table, "--out", tmp_path, "--json").returncode == 0
    assert all("pick" not in note for note in _notes(tmp_path / "run.json"))


def test_midi_on_a_ukulele(tmp_path: Path) -> None:
    """Another kind of file, another instrument, reported for a machine."""
    track = mido.MidiTrack([mido.Message("note_on", note=67, time=0), mido.Message("note_off", note=67, time=480)])
    mido.MidiFile(tracks=[track]).save(tmp_path / "tune.mid")
    done = _finger(tmp_path / "tune.mid", "--out", tmp_path / "out", "--instrument", "ukulele", "--json")
    (report,) = json.loads(done.stdout)
    assert report["notes"] == 1
    assert report["error"] is None
    assert _notes(tmp_path / "out" / "tune.json")[0]["pitch_midi"] == 67


def test_one_broken_file_does_not_stop_the_others(table: Path, tmp_path: Path) -> None:
    """The good one is written, the bad one named with its line, the exit code says that something was wrong."""
    broken = tmp_path / "broken.csv"
    broken.write_text(HEAD + "0,1,sixty\n")
    done = _finger(broken, table, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert f"{broken}:2: midi_pitch_float is 'sixty'" in done.stderr
    assert "Traceback" not in done.stderr
    assert (tmp_path / "out" / "run.json").exists()
    assert not (tmp_path / "out" / "broken.json").exists()


@pytest.mark.parametrize(
    ("arguments", "words", "code"),
    [
        (("--instrument", "lute"), "Unknown instrument 'lute'", 2),
        (("--tuning", "H2 A2 D3 G3 B3 E4"), "Not a note name: 'H'. A tuning of your own reads", 2),
        (("--stay-in", "8-5"), "write 5-8", 2),
        (("--stay-in", "15-18"), "Note 4 at 0.75 s, E4 (MIDI 64), has no place between frets 15 and 18", 2),
        (("--max-stretch", "-1"), "no length", 2),
        (("--instrument", "mandolin", "--capo", "5"), "A3 (MIDI 57), cannot be played on mandolin", 2),
    ],
)
def test_a_wish_that_cannot_be_met(
    arguments: tuple[str, ...], words: str, code: int, table: Path, tmp_path: Path
) -> None:
    """Said in words, without a traceback."""
    done = _finger(table, "--out", tmp_path / "out", *arguments)
    assert done.returncode == code
    assert words in " ".join(done.stderr.replace("│", " ").split())
    assert "Traceback" not in done.stderr


def test_two_files_of_one_name_are_refused(table: Path, tmp_path: Path) -> None:
    """They would be written to one file."""
    other = tmp_path / "run.mid"
    other.write_bytes(b"")
    done = _finger(table, other, "--out", tmp_path / "out")
    assert done.returncode == 3
    assert "would both be written to run.json" in done.stderr

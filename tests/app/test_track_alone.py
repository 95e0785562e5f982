"""A track without a lesson: what is made, and every wish that cannot be met."""

from __future__ import annotations

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from phrasewright.app.track import TrackError, TrackWish, chart_of, make_track
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.sound.mix import TARGET_LUFS, loudness_lufs, true_peak_dbtp


def test_a_form_becomes_a_track(tmp_path: Path) -> None:
    """Band and stems at standard loudness, one folder a tempo, and MIDI as long as the bars say."""
    seen: list[Path] = []
    wish = TrackWish(chart="turnaround", key="Bb", groove="swing", tempos_bpm=(140.0, 180.0), choruses=2)
    made = make_track(wish, tmp_path / "jam", done=seen.append)
    assert (made.bars, made.groove.id, tuple(seen)) == (4, "swing", made.folders)
    for folder in made.folders:
        names = {path.name for path in folder.iterdir()}
        assert names == {"band.flac", "band.mp3", "stem-bass.flac", "stem-chords.flac", "stem-drums.flac"}
    audio, rate = soundfile.read(made.folders[0] / "band.flac", dtype="float32")
    assert loudness_lufs(audio, rate) == pytest.approx(TARGET_LUFS, abs=0.5)
    assert true_peak_dbtp(audio, rate) <= -1.0
    stems = sum(soundfile.read(path)[0] for path in made.folders[0].glob("stem-*.flac"))
    assert np.median(np.abs(stems - audio)) < 1e-4  # alike wherever the limiter rests
    assert mido.MidiFile(made.midi).length == pytest.approx(4 * 4 * 60 / 140, abs=0.01)
    assert [path.name for path in (tmp_path / "jam").iterdir() if path.name.startswith(".")] == []


def test_a_chart_comes_from_a_file_or_from_the_line(tmp_path: Path) -> None:
    """The same chart either way."""
    text = "| Em7 | A7 . . B7 |"
    file = tmp_path / "tune.txt"
    file.write_text(text, encoding="utf-8")
    assert chart_of(TrackWish(chart=str(file))) == chart_of(TrackWish(chart=text))


def test_mistakes_in_a_chart_are_pointed_at() -> None:
    """Each under its own line, with a caret at its place."""
    with pytest.raises(TrackError) as caught:
        chart_of(TrackWish(chart="| Em7 | A7 |\n| Em7 | Q7 |"))
    lines = caught.value.message.splitlines()
    assert lines[1] == "  | Em7 | Q7 |"
    assert lines[2].startswith("          ^ 'Q7' does not begin with a note name")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"chart": "blues", "key": "H"}, "not a key"),
        ({"chart": "| C |", "meter": "9/8"}, "no meter"),
        ({"chart": "| C |", "groove": "polka"}, "no groove"),
        ({"chart": "| C |", "groove": "swing", "meter": "7/8"}, "does not fit"),
        ({"chart": "| C |", "tempos_bpm": (5.0,)}, "no tempo"),
        ({"chart": "| C | F |", "tempos_bpm": (30.0,), "choruses": 40}, "longer than"),
        ({"chart": "C & F"}, "cannot be read"),
    ],
)
def test_wishes_that_cannot_be_met(changes: dict[str, object], words: str, tmp_path: Path) -> None:
    """A plain answer, and nothing is left behind."""
    with pytest.raises(PhrasewrightError, match=words):
        make_track(TrackWish(**changes), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_files_that_are_no_charts(tmp_path: Path) -> None:
    """A file that is not there, one that is no text, one too large."""
    with pytest.raises(OutputError, match="no file"):
        chart_of(TrackWish(chart=str(tmp_path / "gone.txt")))
    file = tmp_path / "tune.txt"
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TrackError, match="not text"):
        chart_of(TrackWish(chart=str(file)))
    file.write_text("| C " * 50_000, encoding="utf-8")
    with pytest.raises(TrackError, match="too large"):
        chart_of(TrackWish(chart=str(file)))

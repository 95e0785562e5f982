"""A teacher's own recording: mapped from the command line, and played in a pack instead of the band's track.

Loudness and true peak: ITU-R BS.1770-4.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from phrasewright.app.build import build_pack
from phrasewright.app.check import check_lesson
from phrasewright.app.planning import plan_source
from phrasewright.app.recording import as_loud_as_ours
from phrasewright.app.source import read_source
from phrasewright.app.stages import plan_stages
from phrasewright.cli.main import app
from phrasewright.errors import LessonError, PhrasewrightError
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.write import write_lesson
from phrasewright.listen.beat_file import read_beats
from phrasewright.sound.limiter import true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs

RATE = 44_100
BEAT_S = 0.6  # 100 a minute
FIRST_S = 0.45
LESSON = """\
[lesson]
title = "Own track"
[scale]
root = "A"
[motifs]
shelf = 2
[band]
tempos = [90, 120]
chart = "| Am7 | D7 |"
[exercises]
kinds = ["each-alone"]
[study]
bars = 4
[recording]
file = "quay.wav"
taps = "taps.txt"
"""


def quay() -> np.ndarray:
    """Forty strokes, 100 a minute."""
    audio = np.random.default_rng(1).normal(0, 1e-4, int(26 * RATE))
    stroke = 0.2 * np.sin(2 * np.pi * 900 * np.arange(3000) / RATE) * np.exp(-np.arange(3000) / 500)
    for number in range(40):
        at = round((FIRST_S + BEAT_S * number) * RATE)
        audio[at : at + len(stroke)] += stroke
    return audio.astype(np.float32)


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "quay.wav", quay(), RATE, subtype="PCM_16")
    taps = FIRST_S + BEAT_S * np.arange(6) + np.array([0.02, -0.03, 0.01, 0.03, -0.02, 0.0])
    (tmp_path / "taps.txt").write_text("\n".join(f"{tap:.3f}" for tap in taps), encoding="utf-8")
    (tmp_path / "own.toml").write_text(LESSON, encoding="utf-8")
    return tmp_path / "own.toml"


def onsets_s(audio: np.ndarray) -> np.ndarray:
    """Where strokes begin: first sample above a third of the top after a quarter of a second below it."""
    level = np.abs(audio).max(axis=1)
    loud = np.flatnonzero(level > level.max() / 3)
    return loud[np.diff(loud, prepend=-RATE) > RATE // 4] / RATE


def test_the_pack_carries_the_recording_at_each_tempo(lesson: Path) -> None:
    """Strokes lie within 5 ms of the beats file, at the tempo asked for; at most -1 dBTP; the study keeps the band; a
    second build makes nothing."""
    pack = lesson.parent / "pack"
    report = build_pack(lesson, pack)
    files = {entry.path for entry in report.manifest.files}
    for tempo_bpm in (90, 120):
        folder = pack / f"audio/{tempo_bpm}-bpm"
        assert sorted(path.name for path in folder.iterdir()) == [
            "recording.beats.txt",
            "recording.flac",
            "recording.mp3",
        ]
        audio, rate = soundfile.read(folder / "recording.flac", dtype="float32")
        beats = read_beats((folder / "recording.beats.txt").read_text("utf-8"), "b")
        assert rate == RATE
        assert beats.tempo_bpm == pytest.approx(tempo_bpm, rel=0.002)
        times_s = np.array(beats.times_s)
        found = onsets_s(audio)
        assert len(found) == 40
        assert max(np.abs(times_s - onset).min() for onset in found) < 0.005
        assert true_peak_dbtp(audio, rate) <= -0.99
    assert "exchange/study-1.mid" in files
    page = (pack / "index.html").read_text("utf-8")
    assert "audio/90-bpm/recording.mp3" in page
    assert "audio/90-bpm/band.mp3" not in page
    assert build_pack(lesson, pack).made == ()


@pytest.mark.parametrize("channels", [1, 2])
def test_any_level_comes_out_as_loud_as_our_tracks(channels: int) -> None:
    """A quiet hiss: -18 LUFS within 0.1, in stereo."""
    hiss = np.random.default_rng(2).normal(0, 0.004, (6 * RATE, channels)).astype(np.float32)
    found = as_loud_as_ours(hiss[:, 0] if channels == 1 else hiss)
    assert found.shape == (6 * RATE, 2)
    assert loudness_lufs(found, RATE) == pytest.approx(-18.0, abs=0.1)


def test_a_changed_recording_is_a_changed_lesson(lesson: Path) -> None:
    before = read_source(lesson).sha256
    soundfile.write(lesson.parent / "quay.wav", quay()[RATE:], RATE, subtype="PCM_16")
    assert read_source(lesson).sha256 != before


@pytest.mark.parametrize(
    ("old", "new"),
    [("tempos = [90, 120]", 'tempos = [90, 120]\nfiles = ["ogg"]'), ("| Am7 | D7 |", "| Am7 | 2/4 D7 |")],
    ids=["kinds of files", "chart"],
)
def test_what_the_recording_follows_makes_it_anew(lesson: Path, old: str, new: str) -> None:
    """Other kinds of files, or another chart to lay on the beats: the files of the recording are made again."""

    def keys() -> dict[str, str]:
        return {stage.name: stage.key for stage in plan_stages(read_source(lesson)).stages if "audio" in stage.name}

    before = keys()
    lesson.write_text(LESSON.replace(old, new), encoding="utf-8")
    assert len(before) == 2
    assert all(key != before[name] for name, key in keys().items())


def test_written_again_the_lesson_has_its_recording(lesson: Path) -> None:
    read = plan_source(read_source(lesson)).lesson
    assert read.recording is not None
    assert read_lesson(write_lesson(read), "own.toml") == read


def test_a_missing_file_is_told_with_its_place(lesson: Path) -> None:
    (lesson.parent / "taps.txt").unlink()
    with pytest.raises(LessonError) as caught:
        plan_source(read_source(lesson))
    (problem,) = caught.value.problems
    assert (problem.line, problem.what) == (16, 'there is no file "taps.txt" beside the lesson')


def test_a_tempo_too_far_away_is_told(lesson: Path) -> None:
    lesson.write_text(LESSON.replace("[90, 120]", "[40]"), encoding="utf-8")
    with pytest.raises(PhrasewrightError, match=r"quay\.wav is played at 100 beats a minute, too far from 40"):
        build_pack(lesson, lesson.parent / "pack")


def test_a_fine_stretch_without_its_library_is_told(lesson: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pylibrb", None)
    lesson.write_text(LESSON + 'stretch = "fine"\n', encoding="utf-8")
    with pytest.raises(PhrasewrightError, match="pip install pylibrb"):
        build_pack(lesson, lesson.parent / "pack")


def run(*words: object) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["beats", *map(str, words)])
    if isinstance(result.exception, PhrasewrightError):
        return result.exception.exit_code, str(result.exception)
    return result.exit_code, result.stdout


def test_beats_are_mapped_mended_and_used(lesson: Path) -> None:
    """The command writes a file; a beat pinned in it stays; the lesson takes the file instead of taps."""
    folder = lesson.parent
    code, told = run(folder / "quay.wav", "--taps", folder / "taps.txt")
    assert code == 0
    assert "10 bars, 100.0 beats a minute" in told
    file = folder / "quay.beats.txt"
    lines = file.read_text("utf-8").splitlines()
    at = next(number for number, line in enumerate(lines) if line.split()[:2] == ["3", "2"])
    lines[at] = "3 2 5.900 !"
    file.write_text("\n".join(lines), encoding="utf-8")
    code, told = run(folder / "quay.wav", "--taps", folder / "taps.txt", "--json")
    report = json.loads(told)
    assert report["pinned"] == 1
    assert report["bars"][0]["start_s"] == pytest.approx(FIRST_S, abs=0.01)
    pinned = [beat for beat in read_beats(file.read_text("utf-8"), "b").beats if beat.is_pinned]
    assert [(beat.bar, beat.beat, beat.time_s) for beat in pinned] == [(3, 2, 5.9)]
    lesson.write_text(LESSON.replace('taps = "taps.txt"', 'beats = "quay.beats.txt"'), encoding="utf-8")
    build_pack(lesson, folder / "pack")
    at_90 = read_beats((folder / "pack/audio/90-bpm/recording.beats.txt").read_text("utf-8"), "b")
    held = next(beat for beat in at_90.beats if beat.is_pinned)
    assert held.time_s == pytest.approx(5.9 * 100 / 90, abs=0.01)


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("gone.wav", "--taps", "taps.txt"), 3, "There is no file"),
        (("quay.wav", "--taps", "gone.txt"), 3, "There is no file"),
        (("taps.txt", "--taps", "taps.txt"), 2, "is text, not audio"),
        (("quay.wav", "--taps", "quay.wav"), 2, "is too large for a file of taps"),
        (("quay.wav", "--taps", "taps.txt", "--meter", "9/16"), 2, "There is no meter '9/16'"),
        (("quay.wav", "--taps", "taps.txt", "--first-beat", "5"), 2, "There is no beat 5"),
        (("quay.wav", "--taps", "taps.txt", "--chart", "| Xm |"), 2, "The chart cannot be read"),
    ],
)
def test_what_cannot_be_mapped_is_told(lesson: Path, words: tuple[str, ...], code: int, told: str) -> None:
    named = [str(lesson.parent / word) if word.endswith((".wav", ".txt")) else word for word in words]
    found, message = run(*named)
    assert (found, told in message) == (code, True), message


@pytest.mark.parametrize(
    ("file", "content", "told"),
    [
        ("quay.wav", b"these are words and no sound", "quay.wav"),
        ("taps.txt", b"0.45 one\n", "taps.txt"),
        ("taps.txt", b"0.45\n", "tap"),
    ],
)
def test_check_listens_to_the_recording(lesson: Path, file: str, content: bytes, told: str) -> None:
    """What would stop a build is told before one: no sound, taps that cannot be read, too few of them."""
    assert check_lesson(lesson).problems == ()
    (lesson.parent / file).write_bytes(content)
    (problem,) = check_lesson(lesson).problems
    assert told in problem.what
    assert problem.hint

"""A track without a lesson: what is made, and every wish that cannot be met."""

from __future__ import annotations

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from phrasewright.app.audio import STEM_HEADROOM_DB
from phrasewright.app.track import TrackError, TrackWish, chart_of, make_track, sound_spec
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.sound.limiter import true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import TARGET_LUFS


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
    assert loudness_lufs(audio, rate) == pytest.approx(TARGET_LUFS, abs=0.1)
    assert true_peak_dbtp(audio, rate) <= -1.0
    stems = sum(soundfile.read(path)[0] for path in made.folders[0].glob("stem-*.flac"))
    share = 10 ** (STEM_HEADROOM_DB / 20)  # how much lower stems are written
    assert np.median(np.abs(share * stems - audio)) < 1e-4  # alike wherever the limiter rests
    assert mido.MidiFile(made.midi).length == pytest.approx(4 * 4 * 60 / 140, abs=0.01)
    assert [path.name for path in (tmp_path / "jam").iterdir() if path.name.startswith(".")] == []


def test_a_chart_comes_from_a_file_or_from_the_line(tmp_path: Path) -> None:
    """The same chart either way."""
    text = "| Em7 | A7 . . B7 |"
    file = tmp_path / "tune.txt"
    file.write_text(text, encoding="utf-8")
    assert chart_of(TrackWish(chart=str(file))) == chart_of(TrackWish(chart=text))


def test_a_whole_tune_is_played_once_through(tmp_path: Path) -> None:
    """Pick-up, choruses and coda, each bar as long as its meter and tempo say; a stop leaves silence behind it."""
    chart = "(B7) | Em7! | 2/4 A7 @coda | 4/4 @50% B7 | @100% C |\n[Coda] Em7"
    made = make_track(TrackWish(chart=chart, tempos_bpm=(120.0,), choruses=2), tmp_path / "tune")
    quarters = 1 + (4 + 2 + 8 + 4) + (4 + 2) + 4
    assert made.bars == 8
    assert mido.MidiFile(made.midi).length == pytest.approx(quarters * 0.5, abs=0.01)
    audio, rate = soundfile.read(made.folders[0] / "stem-bass.flac", dtype="float32")
    start = (4 + 3 + 1) * 0.5  # a bar counted in, the next one up to the pick-up, and the pick-up
    loud, after = (np.abs(audio[int(t * rate) : int((t + 0.2) * rate)]).max() for t in (start + 0.02, start + 1.2))
    assert loud > 0.02
    assert after < loud / 30


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
        ({"chart": "| C | 7/8 F |", "groove": "swing"}, "half a one"),
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


def test_kinds_of_files_as_wished(tmp_path: Path) -> None:
    """Each mix and each stem in every kind asked for, and the same music in all of them; MIDI tuned as well."""
    sound = sound_spec("", "", 442.0, ["ogg", "wav"], ["wav", "mp3"])
    wish = TrackWish(chart="| Em7 |", tempos_bpm=(160.0,), choruses=2, sound=sound)
    made = make_track(wish, tmp_path / "jam")
    stems = {f"stem-{role}.{kind}" for role in ("bass", "chords", "drums") for kind in ("wav", "mp3")}
    assert {path.name for path in made.folders[0].iterdir()} == {"band.ogg", "band.wav"} | stems
    ogg, wav = (soundfile.read(made.folders[0] / f"band.{kind}")[0] for kind in ("ogg", "wav"))
    assert ogg.shape == wav.shape
    assert np.sqrt(np.mean((ogg - wav) ** 2)) < 0.1 * np.sqrt(np.mean(wav**2))
    controls = [m.control for track in mido.MidiFile(made.midi).tracks for m in track if m.type == "control_change"]
    assert controls.count(6) == 2 * len([1 for part in ("bass", "chords") if part])


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("samples", "", 440.0, (), ()), "no sound 'samples'"),
        (("", "", 440.0, ("aiff",), ()), "no kind of file 'aiff'"),
        (("", "", 440.0, (), ("mp4",)), "no kind of file 'mp4'"),
    ],
)
def test_sounds_that_are_none(words: tuple[object, ...], message: str) -> None:
    """The message names the word and what there is instead."""
    with pytest.raises(TrackError, match=message):
        sound_spec(*words)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("words", "message"),
    [(("models", "a.sf2", 440.0, (), ()), "for sampled sound"), (("", "", 500.0, (), ()), "500 is no concert pitch")],
)
def test_sounds_that_cannot_be(tmp_path: Path, words: tuple[object, ...], message: str) -> None:
    """A font for the models, a concert pitch far off: refused before anything is played."""
    wish = TrackWish(chart="| Em7 |", sound=sound_spec(*words))  # type: ignore[arg-type]
    with pytest.raises(TrackError, match=message):
        make_track(wish, tmp_path / "jam")
    assert not (tmp_path / "jam").exists()

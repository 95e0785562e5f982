"""What is written of one tempo: nothing clipped, stems that add up, sampled sound found beside the lesson."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.ndimage import maximum_filter1d

from phrasewright.app.audio import STEM_HEADROOM_DB, stem_headroom_db, write_audio
from phrasewright.app.build import build_pack
from phrasewright.app.sounds import AudioWish, easiest_of
from phrasewright.app.source import read_source
from phrasewright.app.track import TrackWish, make_track, sound_spec
from phrasewright.lesson.model import FILE_KINDS
from phrasewright.score.model import Drum, DrumPart, Hit, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.encode import FileKind
from phrasewright.sound.mix import mix_stems
from phrasewright.sound.soundfonts import SoundError
from sampled_sound import needs_sampled, some_font

RATE = 44_100
LESSON = """
[lesson]
title = "Two notes"
[scale]
root = "A"
[motifs]
shelf = 2
[band]
tempos = [120]
choruses = 1
"""


def test_a_lesson_knows_the_same_kinds_of_files() -> None:
    """The words of a lesson are those of the encoder."""
    assert tuple(FileKind) == FILE_KINDS
    assert easiest_of((FileKind.WAV, FileKind.OGG)) is FileKind.OGG


def test_loud_stems_are_not_clipped(tmp_path: Path) -> None:
    """Strokes whose stem passes full scale before the limiter: the file is lower and whole, to a step of 16 bits."""
    hits = tuple(Hit(onset=bar.onset, drum=Drum.KICK, velocity=1.0) for bar in bars())
    score = Score(title="Kick", measures=bars(), parts=(), fifths=0, drums=DrumPart(name="Kit", hits=hits))
    wish = AudioWish(files=(FileKind.WAV,), stems=(FileKind.WAV,))
    write_audio(score, Performance(tempo_bpm=60.0), tmp_path / "out", seed=1, wish=wish)
    mix, stem = (soundfile.read(tmp_path / "out" / name)[0] for name in ("band.wav", "stem-drums.wav"))
    assert np.abs(stem).max() < 1.0
    share = np.vdot(mix, stem) / np.vdot(stem, stem)
    assert share * np.abs(stem).max() > 10 ** (-1 / 20)  # it is louder than the ceiling that the mix keeps
    quiet = maximum_filter1d(np.abs(share * stem).max(axis=1), RATE // 20) < 0.5
    assert 0.5 < quiet.mean() < 1.0
    assert np.abs(mix - 10 ** (STEM_HEADROOM_DB / 20) * stem)[quiet].max() < 3 / 32_768


def test_more_headroom_where_six_decibels_do_not_do() -> None:
    """A lone click is louder still: whole decibels more, and no sample passes full scale."""
    click = np.zeros(3 * RATE, np.float32)
    click[RATE : RATE + 20] = 0.5
    stems = mix_stems({PartRole.DRUMS: click}, RATE).stems
    headroom_db = stem_headroom_db(stems)
    assert headroom_db > STEM_HEADROOM_DB
    assert 10 ** (-1.01 / 20) < np.abs(stems[PartRole.DRUMS]).max() * 10 ** (-headroom_db / 20) <= 1.0


def bars():
    from phrasewright.lesson.chart_text import read_chart
    from phrasewright.theory.meter import Meter

    return read_chart("| C | C | C | C |", Meter(4, 4)).unfold(4)


def test_a_font_that_is_not_there(tmp_path: Path) -> None:
    """The build stops before any work, and says what is missing."""
    path = tmp_path / "lesson.toml"
    path.write_text(f'{LESSON}soundfont = "nowhere.sf2"\n')
    with pytest.raises(SoundError, match=r"nowhere\.sf2"):
        build_pack(path, tmp_path / "pack")


@needs_sampled
def test_a_font_is_part_of_the_lesson(tmp_path: Path) -> None:
    """A font beside the lesson is found by its relative name; another one in its place is another lesson."""
    (tmp_path / "fonts").mkdir()
    path, font = tmp_path / "lesson.toml", tmp_path / "fonts" / "own.sf3"
    path.write_text(f'{LESSON}soundfont = "fonts/own.sf3"\n')
    font.symlink_to(some_font())
    first = read_source(path)
    assert first.font == some_font()
    font.unlink()
    font.write_bytes(b"another")
    assert read_source(path).sha256 != first.sha256


@needs_sampled
def test_a_sampled_track(tmp_path: Path) -> None:
    """The same files as ever, other sound in them."""
    folders = []
    for source in ("models", "sampled"):
        sound = sound_spec(source, "", 440.0, ["wav"], ["wav"])
        wish = TrackWish(chart="| Em7 | A7 |", tempos_bpm=(150.0,), choruses=1, sound=sound)
        folders += make_track(wish, tmp_path / source).folders
    models, sampled = ({path.name: soundfile.read(path)[0] for path in folder.iterdir()} for folder in folders)
    assert models.keys() == sampled.keys()
    for name in models:
        assert models[name].shape == sampled[name].shape
        one, other = models[name].mean(axis=1), sampled[name].mean(axis=1)
        assert abs(np.vdot(one, other)) < 0.7 * np.sqrt(np.vdot(one, one) * np.vdot(other, other))

"""A recording of a whole chart on the page: its bars begin where the beat map says, pick-up and coda too."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from phrasewright.app.build import build_pack
from phrasewright.app.planning import plan_source
from phrasewright.app.recorded_page import recorded_pieces
from phrasewright.app.recording import OwnTrack
from phrasewright.app.source import read_source
from phrasewright.app.workshop import Workshop
from phrasewright.errors import PhrasewrightError
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.write import write_lesson
from phrasewright.listen.beat_file import read_beats
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import Performance

RATE = 44_100
FIRST_S = 0.45
TEMPO_BPM = 100.0
LESSON = '''\
[lesson]
title = "Own track"
[scale]
root = "A"
[motifs]
shelf = 2
[band]
tempos = [80, 100]
chart = """
(E7)
| Am7 | 2/4 D7 | 4/4 @80% Am7 @coda | @100% E7 |
[Coda]
| Dm7 | @rit Am7 |
"""
[exercises]
kinds = ["each-alone"]
[study]
bars = 4
[recording]
file = "quay.wav"
taps = "taps.txt"
choruses = 3
first_bar = 0
'''


def beats_s() -> np.ndarray:
    """Every beat of the whole chart, played as its marks say."""
    measures = read_lesson(LESSON, "own.toml").chart.whole(3)
    performance = Performance(tempo_bpm=TEMPO_BPM, pace=pace_of(measures))
    return FIRST_S + np.array([performance.seconds_at(beat) for beat in range(int(measures[-1].end))])


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    times_s = beats_s()
    audio = np.random.default_rng(1).normal(0, 1e-4, round((times_s[-1] + 1.5) * RATE))
    stroke = 0.2 * np.sin(2 * np.pi * 900 * np.arange(3000) / RATE) * np.exp(-np.arange(3000) / 500)
    for time_s in times_s:
        at = round(time_s * RATE)
        audio[at : at + len(stroke)] += stroke
    soundfile.write(tmp_path / "quay.wav", audio, RATE, subtype="PCM_16")
    taps = times_s[:6] + np.array([0.02, -0.03, 0.01, 0.03, -0.02, 0.0])
    (tmp_path / "taps.txt").write_text("\n".join(f"{tap:.3f}" for tap in taps), encoding="utf-8")
    (tmp_path / "own.toml").write_text(LESSON, encoding="utf-8")
    return tmp_path / "own.toml"


def test_bars_of_the_page_begin_where_the_map_says(lesson: Path) -> None:
    """At both tempos: the bars that are played with their numbers, lengths and chart bars, each on its first beat."""
    source = read_source(lesson)
    workshop = Workshop(plan_source(source))
    recording = workshop.plan.lesson.recording
    assert recording is not None
    own = OwnTrack(workshop.plan.lesson, recording, source)
    track = workshop.pieces.track
    pieces, sprites = recorded_pieces(own, workshop.plan, track, (*workshop.pieces.all, *workshop.motifs))
    known = beats_s()
    starts = np.cumsum([0, 1, *[4, 2, 4, 4] * 2, 4, 2, 4, 4])
    for tempo_bpm, piece in zip((80.0, 100.0), pieces, strict=True):
        assert [bar.number for bar in piece.bars] == list(range(14))
        assert [int(bar.length) for bar in piece.bars] == [1, *[4, 2, 4, 4] * 2, 4, 2, 4, 4, 4]
        assert [bar.chart_bar for bar in piece.bars] == [0, *[1, 2, 3, 4] * 2, 1, 2, 3, 5, 6]
        at_s = [piece.pace.played(float(bar.onset)) * 60 / piece.tempo_bpm for bar in piece.bars]
        mapped = {beat.bar: beat.time_s for beat in own.at(tempo_bpm)[1].beats if beat.beat == 1}
        assert at_s == pytest.approx([mapped[bar.number] for bar in piece.bars], abs=1e-6)
        assert at_s == pytest.approx([known[start] * TEMPO_BPM / tempo_bpm for start in starts], abs=0.015)
        assert len(sprites[piece.recording].clips) == len(piece.bars)


def test_the_lead_begins_in_bar_1_and_ends_before_the_coda(lesson: Path) -> None:
    """The study lies over the bars it was written for: one quarter note later than without a pick-up."""
    sooner = LESSON.replace(" @coda", "").replace("D7", "D7 @coda")
    lesson.write_text(sooner.replace("choruses = 3", "choruses = 1"), encoding="utf-8")
    source = read_source(lesson)
    workshop = Workshop(plan_source(source))
    assert workshop.plan.lesson.recording is not None
    own = OwnTrack(workshop.plan.lesson, workshop.plan.lesson.recording, source)
    track = workshop.pieces.track
    pieces, _ = recorded_pieces(own, workshop.plan, track, (*workshop.pieces.all, *workshop.motifs))
    written = [note for note in track.lead.notes if note.end <= 6]
    lead = [event for event in pieces[0].events if event.note is not None]
    assert [event.onset for event in lead] == [note.onset + 1 for note in written]
    assert len(written) < len(track.lead.notes)


def test_the_pack_has_a_beats_file_that_counts_so(lesson: Path) -> None:
    """A lesson takes it instead of taps, and refuses it for other choruses."""
    pack = lesson.parent / "pack"
    build_pack(lesson, pack)
    text = (pack / "audio/100-bpm/recording.beats.txt").read_text("utf-8")
    assert "pickup: 1\nbars: 4, 2, 4 x3, 2, 4 x3, 2, 4 x3\n" in text
    beats = read_beats(text, "b")
    assert len(beats.beats) == len(beats_s())
    (lesson.parent / "quay.beats.txt").write_text(text, encoding="utf-8")
    mapped = LESSON.replace('taps = "taps.txt"', 'beats = "quay.beats.txt"').replace("first_bar = 0\n", "")
    lesson.write_text(mapped, encoding="utf-8")
    build_pack(lesson, lesson.parent / "again")
    lesson.write_text(mapped.replace("choruses = 3\n", ""), encoding="utf-8")
    with pytest.raises(PhrasewrightError, match="counts other bars than the lesson's chart and choruses"):
        build_pack(lesson, lesson.parent / "never")


def test_written_again_the_lesson_is_the_same(lesson: Path) -> None:
    read = plan_source(read_source(lesson)).lesson
    assert read_lesson(write_lesson(read), "own.toml") == read

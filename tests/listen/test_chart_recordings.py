"""Recordings of whole charts are mapped bar by bar: changes of meter, pick-up, coda, changes of tempo.

Beat F-measure within +-70 ms: Davies, Degara & Plumbley (2009), as in mir_eval (Raffel et al. 2014).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile
from chart_recordings import CHARTS, RATE, chart_recording

from phrasewright.app.beats import BeatsError, BeatsWish, MappedRecording, map_recording
from phrasewright.lesson.chart_text import read_chart
from phrasewright.listen.bar_layout import layout_of
from phrasewright.listen.beat_file import read_beats
from phrasewright.listen.mapping import heard_between, map_beats
from phrasewright.listen.onset_strength import onset_strength
from phrasewright.listen.readings import Notice
from phrasewright.listen.taps import tapped_beat
from phrasewright.score.played_chart import PlayedChart
from phrasewright.theory.meter import Meter

LATEST_LINE_S = 0.040


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("tempo_bpm", [84.0, 132.0])
def test_every_bar_line_of_a_whole_chart_is_found(name: str, tempo_bpm: float) -> None:
    """F of at least 0.98, every bar line within 40 ms, the same bars as are played."""
    known = chart_recording(name, tempo_bpm)
    strength, layout = onset_strength(known.audio), layout_of(known.played)
    for seed in (1, 2):
        taps = tapped_beat(known.taps_s(0, 8, seed), strength.length_s)
        found = map_beats(
            strength,
            taps,
            layout,
            played=known.played,
            heard_s=heard_between(known.audio),
            first_bar=0 if layout.pickup else 1,
        )
        times_s = np.array([beat.time_s for beat in found.beats if found.place(beat) >= -layout.pickup])
        assert mir_eval.beat.f_measure(known.beats_s, times_s) >= 0.98
        lines_s = {beat.bar: beat.time_s for beat in found.beats if beat.beat == 1}
        assert {bar for bar in lines_s if bar >= 1} == {bar for bar in known.lines_s if bar >= 1}
        late_s = {bar: lines_s[bar] - line_s for bar, line_s in known.lines_s.items()}
        assert max(map(abs, late_s.values())) < LATEST_LINE_S, late_s


def mapped(name: str, choruses: int | None, folder: Path, *, tempo_bpm: float = 132.0) -> MappedRecording:
    """By the command's own way, from bar 1."""
    known = chart_recording(name, tempo_bpm)
    soundfile.write(folder / "quay.wav", known.audio, RATE)
    taps = known.taps_s(int(known.played.pickup), 8, seed=3)
    (folder / "taps.txt").write_text("\n".join(f"{tap:.3f}" for tap in taps), encoding="utf-8")
    chart = replace(known.played, choruses=choruses)
    wish = BeatsWish(recording=folder / "quay.wav", taps=folder / "taps.txt", meter=chart.chart.meter, chart=chart)
    return map_recording(wish, folder / "quay.beats.txt")


@pytest.mark.parametrize("name", CHARTS)
def test_right_taps_over_a_whole_chart_are_taken_without_a_word(name: str, tmp_path: Path) -> None:
    """Nothing to say about taps and length, every bar has its chords and they are heard; the file reads back."""
    found = mapped(name, 3, tmp_path)
    assert ({one.notice for one in found.said} - {Notice.UNEVEN}, found.remarks) == (set(), ())
    chords = {measure.number: measure.chords[0].chord for measure in chart_recording(name, 132.0).played.once}
    bars = {one.bar.number: one for one in found.bars}
    for number in range(1, max(chords)):
        assert bars[number].chords.split()[0] == chords[number].printed
        assert bars[number].fit > 0.0
    read = read_beats((tmp_path / "quay.beats.txt").read_text("utf-8"), "b")
    assert (read.layout, len(read.beats)) == (found.beats.layout, len(found.beats.beats))


@pytest.mark.parametrize(("choruses", "words"), [(2, "after bar 18, the last one"), (5, "the recording ends in bar")])
def test_another_number_of_choruses_is_noticed(choruses: int, words: str, tmp_path: Path) -> None:
    assert words in " ".join(mapped("everything", choruses, tmp_path).remarks)


@pytest.mark.parametrize("text", ["| Em7 | 7/8 A7 |", "| Em7 | 6/8 A7 |"])
def test_a_beat_that_changes_is_refused(text: str, tmp_path: Path) -> None:
    """Before anything is read."""
    played = PlayedChart(chart=read_chart(text, Meter(4, 4)))
    wish = BeatsWish(recording=tmp_path / "no.wav", taps=tmp_path / "no.txt", meter=Meter(4, 4), chart=played)
    with pytest.raises(BeatsError, match="goes from 4/4, tapped in quarter notes, to "):
        map_recording(wish, tmp_path / "no.beats.txt")


def test_a_chorus_with_a_short_bar_goes_round(tmp_path: Path) -> None:
    """Without a number of choruses: the bars of each chorus have their own meters."""
    known = chart_recording("a 2/4 bar inside", 132.0)
    found = mapped("a 2/4 bar inside", None, tmp_path)
    starts_s = {one.bar.number: one.bar.start_s for one in found.bars}
    for number, line_s in known.lines_s.items():
        assert abs(starts_s[number] - line_s) < LATEST_LINE_S

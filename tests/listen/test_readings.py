"""What is noticed about taps: half tempo, double tempo, between the beats, not from beat one; and nothing when they are
right. All grooves: benchmarks/bench_beats.py.
"""

from __future__ import annotations

import numpy as np
import pytest
from band_recordings import band_recording

from phrasewright.lesson.chart_text import read_chart
from phrasewright.listen.beats import free_beats
from phrasewright.listen.harmony import pitch_classes
from phrasewright.listen.onset_strength import onset_strength
from phrasewright.listen.readings import Notice, read_taps_well, tapped_grid
from phrasewright.listen.taps import tapped_beat
from phrasewright.score.chart import Chart
from phrasewright.score.played_chart import PlayedChart
from phrasewright.theory.meter import Meter

PLACES = {
    "right": (np.arange(8.0), None),
    "half": (np.arange(8.0) * 2, Notice.HALF),
    "double": (np.arange(8.0) / 2, Notice.DOUBLE),
    "between": (np.arange(8.0) + 0.5, Notice.BETWEEN),
}
GROOVES = [("straight-eighths", 90.0), ("quiet-sixteenths", 90.0), ("swing", 120.0)]


def played(chart: Chart | None) -> PlayedChart | None:
    return None if chart is None else PlayedChart(chart=chart)


def noticed(groove: str, tempo_bpm: float, places: np.ndarray, chart: object = "own") -> set[Notice]:
    known = band_recording(groove, tempo_bpm)
    strength, energy = onset_strength(known.audio), pitch_classes(known.audio)
    taps = tapped_beat(known.taps_s(places, seed=5), strength.length_s)
    grid = tapped_grid(taps, free_beats(strength, np.array(taps.periods_s)))
    said = read_taps_well(taps, grid, strength, energy, played(known.chart if chart == "own" else chart))
    return {one.notice for one in said} - {Notice.UNEVEN}


@pytest.mark.parametrize(("groove", "tempo_bpm"), GROOVES)
@pytest.mark.parametrize("case", PLACES)
def test_with_the_chart_taps_are_read_right(groove: str, tempo_bpm: float, case: str) -> None:
    places, expected = PLACES[case]
    assert noticed(groove, tempo_bpm, places) == ({expected} if expected else set())


@pytest.mark.parametrize("case", PLACES)
def test_without_a_chart_the_rhythm_tells(case: str) -> None:
    places, expected = PLACES[case]
    found = noticed("straight-eighths", 120.0, places, chart=None)
    assert found == ({expected} if expected else set())


def test_a_first_tap_on_beat_two_is_noticed() -> None:
    assert noticed("straight-eighths", 90.0, np.arange(8.0) + 1) == {Notice.FIRST}


def test_a_chart_that_is_not_played_is_noticed() -> None:
    other = read_chart("| Ebmaj7 | Ebmaj7 | Abmaj7 | Abmaj7 |", Meter(4, 4))
    assert noticed("straight-eighths", 90.0, np.arange(8.0), chart=other) == {Notice.OTHER_CHORDS}


def test_uneven_taps_are_said() -> None:
    known = band_recording("straight-eighths", 120.0)
    strength, energy = onset_strength(known.audio), pitch_classes(known.audio)
    taps = tapped_beat(known.taps_s(np.arange(12.0), seed=3, jitter_s=0.045), strength.length_s)
    grid = tapped_grid(taps, free_beats(strength, np.array(taps.periods_s)))
    assert Notice.UNEVEN in {one.notice for one in read_taps_well(taps, grid, strength, energy, played(known.chart))}

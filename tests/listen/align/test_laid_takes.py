"""Takes of known timing: offset, drift, swing and spread come back; lines are followed through slips and jumps."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from takes import BUSY, EIGHTHS, Played, bars, played, random_line, straight

from phrasewright.listen.align.align import TrackOffset, align, expected_after
from phrasewright.listen.align.summary import timing_by_bar, timing_summary
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import Alignment, OffsetSource

BARS = 32
MUSIC_S = 2.2
OFFSET_S, DRIFT_PERCENT, SWING, SPREAD = 0.003, 0.2, 0.05, 0.10


def laid(how: Played, seed: int, *, source: OffsetSource, busy: bool = False) -> tuple[Alignment, float]:
    """A random line so played, laid over its bars, and the share of its counts that are right."""
    rng = Random(seed)
    line = random_line(rng, BARS, BUSY if busy else EIGHTHS)
    heard = played(line, how, rng)
    found = align(
        heard,
        bars(BARS),
        straight(how.tempo_bpm),
        written=line if source is OffsetSource.LINE else None,
        track=TrackOffset(offset_s=how.offset_s) if source is OffsetSource.TRACK else None,
        given_offset_s=how.offset_s if source is OffsetSource.GIVEN else None,
        expected=expected_after(MUSIC_S - 0.1),
    )
    right = sum(one.at == note.onset for one, note in zip(found.notes, line.notes, strict=True))
    return found, right / len(line.notes)


@pytest.mark.parametrize("shift_ms", [-400, -250, -90, 0, 60, 150, 300, 400])
def test_offsets_come_back(shift_ms: int) -> None:
    """Shifts to 400 ms either way, within 3 ms, by a written line."""
    how = Played(offset_s=MUSIC_S + shift_ms / 1000.0, tempo_bpm=96.0)
    found, right = laid(how, shift_ms, source=OffsetSource.LINE)
    assert found.clock.offset_s == pytest.approx(how.offset_s, abs=OFFSET_S)
    assert found.clock.source is OffsetSource.LINE
    assert right == 1.0
    assert timing_summary(found).bias_s is None  # a late player and a late device look alike


@pytest.mark.parametrize("shift_ms", [-100, -50, 30, 100, 170, 240])
def test_latencies_come_back_without_a_line(shift_ms: int) -> None:
    """Latencies as devices have them, within 3 ms. Half a beat away (430 ms here) nothing but a line or track tells."""
    how = Played(offset_s=MUSIC_S - 0.1 + shift_ms / 1000.0, tempo_bpm=70.0)
    found, right = laid(how, shift_ms, source=OffsetSource.GRID)
    assert found.clock.offset_s == pytest.approx(how.offset_s, abs=OFFSET_S)
    assert right == 1.0


@pytest.mark.parametrize("source", [OffsetSource.LINE, OffsetSource.TRACK, OffsetSource.GRID])
@pytest.mark.parametrize("drift_percent", [-3.0, -1.6, 0.8, 3.0])
def test_drift_comes_back(drift_percent: float, source: OffsetSource) -> None:
    """A tempo that changes evenly by up to 3 per cent from start to end, within 0.2 per cent."""
    how = Played(drift_percent=drift_percent, tempo_bpm=104.0)
    found, right = laid(how, round(10 * drift_percent), source=source)
    assert timing_summary(found).drift_percent == pytest.approx(drift_percent, abs=DRIFT_PERCENT)
    assert right >= 0.98


@pytest.mark.parametrize("source", [OffsetSource.LINE, OffsetSource.TRACK, OffsetSource.GRID])
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0])
def test_swing_comes_back(ratio: float, source: OffsetSource) -> None:
    """Ratios from straight to 3 to 1, within 5 per cent, triplets and sixteenths among the eighths."""
    found, right = laid(Played(swing_ratio=ratio), round(100 * ratio), source=source, busy=True)
    assert timing_summary(found).swing_ratio == pytest.approx(ratio, rel=SWING)
    assert right >= 0.97


@pytest.mark.parametrize("source", [OffsetSource.LINE, OffsetSource.TRACK, OffsetSource.GRID])
@pytest.mark.parametrize("jitter_ms", [4, 12, 25])
def test_spread_comes_back(jitter_ms: int, source: OffsetSource) -> None:
    """Unevenness of known size, within 10 per cent; drift and swing do not count as such."""
    how = Played(jitter_s=jitter_ms / 1000.0, drift_percent=1.5, swing_ratio=1.5)
    found, _ = laid(how, jitter_ms, source=source)
    assert timing_summary(found).spread_s == pytest.approx(how.jitter_s, rel=SPREAD)


@pytest.mark.parametrize("stretch", [0.97, 0.985, 1.012, 1.03])
def test_another_tempo_is_found_by_a_line(stretch: float) -> None:
    """A line played up to 3 per cent slower or faster than its track: tempo within 0.2 per cent, every count right."""
    found, right = laid(Played(stretch=stretch), round(1000 * stretch), source=OffsetSource.LINE)
    assert found.clock.tempo_bpm == pytest.approx(110.0 / stretch, rel=DRIFT_PERCENT / 100.0)
    assert right == 1.0


@pytest.mark.parametrize("late_ms", [-35, 0, 20, 45])
def test_a_late_player_is_told_from_a_late_device(late_ms: int) -> None:
    """Against a track that is heard in the take the player's own bias shows, within 3 ms."""
    found, _ = laid(Played(late_s=late_ms / 1000.0), 40 + late_ms, source=OffsetSource.TRACK)
    assert timing_summary(found).bias_s == pytest.approx(late_ms / 1000.0, abs=OFFSET_S)
    assert all(row.deviation_s == pytest.approx(late_ms / 1000.0, abs=0.02) for row in timing_by_bar(found))


def test_a_player_who_leaves_the_track_is_followed() -> None:
    """Three per cent slower than the track: the own tempo is told, in words too, and counts stay right."""
    found, right = laid(Played(stretch=1.03, tempo_bpm=90.0), 7, source=OffsetSource.TRACK)
    assert found.clock.tempo_bpm == pytest.approx(90.0 / 1.03, rel=0.002)
    assert any("leaves the track" in remark for remark in found.remarks)
    assert right >= 0.98


def test_a_silent_take_has_a_place() -> None:
    """No notes: nothing is placed and nothing is told."""
    found = align((), bars(4), straight(100.0))
    told = timing_summary(found)
    assert found.notes == ()
    assert (told.bias_s, told.spread_s, told.drift_percent, told.swing_ratio, told.notes) == (None, None, None, None, 0)


def test_another_line_is_not_taken_for_the_written_one() -> None:
    """Where too little of the written line was played, that is said, and the notes are laid by their counts."""
    rng = Random(3)
    line = random_line(rng, 8)
    other = random_line(Random(4), 8)
    wrong = [replace(note, pitch_midi=note.pitch_midi + 0.0) for note in played(other, Played(), rng)]
    up = [replace(note, pitch_midi=note.pitch_midi + 1.0) for note in wrong]
    found = align(up, bars(8), straight(110.0), written=line, expected=expected_after(MUSIC_S - 0.1))
    assert found.clock.source is OffsetSource.GRID
    assert any("written line" in remark for remark in found.remarks)


@given(seed=st.integers(0, 10_000), shift_s=st.floats(0.0, 30.0))
@settings(max_examples=15, deadline=None)
def test_later_takes_are_the_same_takes(seed: int, shift_s: float) -> None:
    """A take that begins later has the same counts and deviations, its offset so much later."""
    rng = Random(seed)
    line = random_line(rng, 8)
    heard = played(line, Played(offset_s=2.0), rng)
    later = [_moved(note, shift_s) for note in heard]
    first = align(heard, bars(8), straight(110.0), given_offset_s=2.0)
    second = align(later, bars(8), straight(110.0), given_offset_s=2.0 + shift_s)
    assert [one.at for one in first.notes] == [one.at for one in second.notes]
    for one, other in zip(first.notes, second.notes, strict=True):
        assert other.deviation_s == pytest.approx(one.deviation_s, abs=1e-6)


@given(onsets_s=st.lists(st.floats(0.0, 20.0), min_size=1, max_size=40))
@settings(max_examples=30, deadline=None)
def test_any_notes_are_placed(onsets_s: list[float]) -> None:
    """Whatever was heard: every note once, counts never falling, on quarters or thirds of a beat."""
    notes = [HeardNote(onset_s=at_s, offset_s=at_s + 0.1, pitch_midi=60.0) for at_s in sorted(onsets_s)]
    found = align(notes, bars(6), straight(100.0))
    counts = [placed.at for placed in found.notes]
    assert [placed.note for placed in found.notes] == notes
    assert counts == sorted(counts)
    assert all((12 * count).denominator == 1 for count in counts)
    assert all(isinstance(count, Fraction) for count in counts)


def _moved(note: HeardNote, by_s: float) -> HeardNote:
    return replace(note, onset_s=note.onset_s + by_s, offset_s=note.offset_s + by_s)

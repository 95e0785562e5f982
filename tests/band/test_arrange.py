"""The band together: exact bars, fills where phrases end, endings, count-in, choice by seed."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from band_strategies import BLUES, FULL_BANDS, METERS, TURN, jobs, unfolded
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band.arrange import Ensemble, accompany
from phrasewright.band.drums import TIMEKEEPERS, beat_of, count_in, fill_of, thinned
from phrasewright.band.form import Ending, FillSize, plan_bars, section_starts
from phrasewright.band.groove import GROOVES, Groove, GrooveError
from phrasewright.band.groove_model import BassStyle, DrumBeat
from phrasewright.band.intensity import shaped
from phrasewright.band.steps import read_steps
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Drum, Measure, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.drums import CLICK_ACCENT
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)


@given(jobs(), st.integers(0, 99), st.sampled_from(Ending))
def test_the_band_covers_exactly_the_bars(job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending) -> None:
    """Every note and hit lies inside the bars, on the sixteenth grid; every bar has drums, each part has patterns."""
    measures, groove = job
    band = accompany(measures, groove, seed=seed, ending=ending)
    end = measures[-1].end
    plan = groove.plan(measures[0].meter)
    written = ((PartRole.CHORDS, plan.chords), (PartRole.BASS, plan.bass))
    assert [part.role for part in band.parts] == [role for role, patterns in written if patterns]
    for part in band.parts:
        for note in part.notes:
            assert 0 <= note.onset < note.end <= end
            assert (note.onset * 4).denominator == 1
    for hit in band.drums.hits:
        assert 0 <= hit.onset < end
        assert (hit.onset * 4).denominator == 1
    for measure in measures:
        assert any(hit.onset == measure.onset for hit in band.drums.hits)
    counts = Counter((hit.onset, hit.drum) for hit in band.drums.hits)
    assert max(counts.values()) == 1
    Score(title="t", measures=measures, parts=band.parts, fifths=0, drums=band.drums)


@given(jobs(), st.integers(0, 99), st.sampled_from(Ending))
def test_same_seed_same_band(job: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending) -> None:
    """The same bars, groove, seed and ending give the same notes."""
    measures, groove = job
    assert accompany(measures, groove, seed=seed, ending=ending) == accompany(
        measures, groove, seed=seed, ending=ending
    )


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
def test_seeds_differ_in_what_never_in_when_bars_fall(groove: Groove) -> None:
    """Other seeds play other variations; choruses of one seed differ too."""
    measures = unfolded(TURN, str(groove.meters[0]), choruses=2)
    bands = [accompany(measures, groove, seed=seed) for seed in range(8)]
    assert len({band.drums.hits for band in bands}) > 2
    assert len({band.parts[0].notes for band in bands}) > 4
    riff = groove.bass_style in (BassStyle.RIFF, BassStyle.PEDAL)  # which keep their figure
    assert len({band.parts[1].notes for band in bands}) > (1 if riff else 4)
    half = measures[len(measures) // 2].onset
    assert any(_chorus(band, Fraction(0), half) != _chorus(band, half, half) for band in bands)


def _chorus(band: Ensemble, start: Fraction, length: Fraction) -> list[tuple[Fraction, int]]:
    notes = [note for part in band.parts for note in part.notes]
    return [(n.onset - start, n.pitch.midi) for n in notes if start <= n.onset < start + length]


def sizes(measures: tuple[Measure, ...], ending: Ending = Ending.LOOP, seed: int = 0) -> list[FillSize]:
    return [plan.fill for plan in plan_bars(measures, rng=Random(seed), ending=ending)]


def test_full_fills_close_a_blues_chorus() -> None:
    """Over a twelve-bar chart played twice the full fills stand in bars 12 and 24, slight ones at most in 4 and 8."""
    measures = unfolded(BLUES, choruses=2)
    for seed in range(6):
        fills = sizes(measures, seed=seed)
        assert [n + 1 for n, size in enumerate(fills) if size is FillSize.FULL] == [12, 24]
        assert {n + 1 for n, size in enumerate(fills) if size is FillSize.SLIGHT} <= {4, 8, 16, 20}


def test_full_fills_close_every_eight_bars_of_a_vamp() -> None:
    """A four-bar vamp is filled fully every eight bars only."""
    measures = unfolded("Em7 | A7 | Em7 | A7", choruses=6)
    assert [n + 1 for n, size in enumerate(sizes(measures)) if size is FillSize.FULL] == [8, 16, 24]


def test_sections_are_closed_by_a_fill() -> None:
    """The last bar before a new section of eight bars or more has the full fill, and the section opens with a crash."""
    bar = ((parse_chord("Em7"), Fraction(4)),)
    names = ["A", *[""] * 7, "B", *[""] * 9]
    chart = Chart(meter=FOUR, bars=tuple(ChartBar(chords=bar, section=name) for name in names))
    measures = chart.unfold(18)
    assert section_starts(measures) == (0, 8)
    fills = sizes(measures)
    assert fills[7] is FillSize.FULL
    assert fills[17] is FillSize.FULL
    band = accompany(measures, GROOVES["straight-eighths"], seed=3)
    crashes = {hit.onset for hit in band.drums.hits if hit.drum is Drum.CRASH}
    assert crashes == {Fraction(0), Fraction(32)}


def strokes(beat: DrumBeat, meter: Meter, start: Fraction, end: Fraction) -> set[tuple[Fraction, Drum]]:
    """Where which piece is struck in a part of the bar."""
    steps = [(step.onset, drum) for drum, pattern in beat.lanes for step in read_steps(pattern, meter)]
    return {(onset, drum) for onset, drum in steps if start <= onset < end}


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
def test_drums_follow_the_form(groove: Groove) -> None:
    """Parts open with a crash and keep one beat, the last another than the first; fills close phrases and parts."""
    meter = groove.meters[0]
    bar = ((parse_chord("Em7"), meter.bar),)
    names = ["A", *[""] * 7, "B", *[""] * 7]
    measures = Chart(meter=meter, bars=tuple(ChartBar(chords=bar, section=name) for name in names)).unfold(32)
    written = groove.plan(meter)
    given_way = {(Fraction(0), drum) for drum in TIMEKEEPERS}
    turns = 0
    for seed in range(6):
        kit = accompany(measures, groove, seed=seed).drums
        beats = []
        bars = shaped(
            plan_bars(measures, rng=Random(f"form {seed}"), ending=Ending.LOOP), rng=Random(f"intensity {seed}")
        )
        for place, plan in enumerate(bars):
            onset, fill = plan.measure.onset, fill_of(written, plan)
            assert fill in ((None,) if plan.fill is FillSize.NONE else written.fills)
            assert plan.fill is not FillSize.FULL or fill in written.fills[len(written.fills) // 2 :]
            wanted = strokes(beat_of(written, plan), meter, Fraction(0), meter.bar if fill is None else fill.start)
            wanted |= set() if fill is None else strokes(fill.beat, meter, fill.start, meter.bar)
            if place % 8 == 0:
                wanted = (wanted - given_way) | {(Fraction(0), groove.crash)}
                beats.append(without_ghosts(beat_of(written, plan)))
            assert {
                (hit.onset - onset, hit.drum) for hit in kit.hits if onset <= hit.onset < onset + meter.bar
            } == wanted
            assert without_ghosts(beat_of(written, plan)) == beats[-1]
            assert beats[-1] in [without_ghosts(beat) for beat in written.beats]
            assert (plan.fill is FillSize.FULL) == (place % 8 == 7)
            assert plan.fill is not FillSize.SLIGHT or place % 8 == 3
        turns += sum(before != after for before, after in pairwise(beats))
        assert beats[0] != beats[-1]
    assert turns >= 6, "once at least in each of six tracks"


def without_ghosts(beat: DrumBeat) -> DrumBeat:
    """What a beat is besides the strokes that come and go with the intensity."""
    return DrumBeat(lanes=tuple(lane for lane in beat.lanes if lane[0] is not Drum.GHOST))


def test_the_form_is_found_without_names() -> None:
    """Repeated choruses without section names are told by their chords."""
    assert section_starts(unfolded(BLUES, choruses=3)) == (0, 12, 24)
    assert section_starts(unfolded("Em7 | A7")) == (0,)


def test_a_loop_leads_back() -> None:
    """Looping, the last bass note lies a half or whole step, a fourth or a fifth from the first, in its own octave."""
    measures = unfolded("Dm7 | G7 | Cmaj7 | A7")
    for seed in range(8):
        band = accompany(measures, GROOVES["swing"], seed=seed)
        last = band.parts[1].notes[-1]
        assert abs(last.pitch.midi - band.parts[1].notes[0].pitch.midi) in (1, 2, 5, 7)


def test_the_chords_come_home() -> None:
    """Over a turnaround that goes round, the top voice steps across the seam as it does inside: a third at most."""
    for seed in range(6):
        notes = accompany(unfolded(TURN, choruses=2), GROOVES["swing"], seed=seed).parts[0].notes
        first, last = (max(n.pitch.midi for n in notes if n.onset == at) for at in (notes[0].onset, notes[-1].onset))
        assert abs(first - last) <= 3


@pytest.mark.parametrize(("tempo_bpm", "strokes"), [(90.0, 16), (120.0, 16), (160.0, 8), (220.0, 8)])
def test_fast_sixteenths_become_eighths(tempo_bpm: float, strokes: int) -> None:
    """One hand plays sixteenths up to about 125 bpm (common practice): above, soft strokes between go, accents stay."""
    measures = unfolded("Em7 | A7 | Em7 | A7")
    kit = accompany(measures, GROOVES["quiet-sixteenths"], seed=1).drums
    played = thinned(kit, Performance(tempo_bpm=tempo_bpm))
    in_second_bar = [h for h in played.hits if 4 <= h.onset < 8 and h.drum in TIMEKEEPERS]
    assert len(in_second_bar) == strokes
    kept = set(played.hits)
    assert all(h in kept for h in kit.hits if h.drum not in TIMEKEEPERS or h.velocity > 0.6)


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
def test_a_final_ending_stops(groove: Groove) -> None:
    """The last bar has one crash, one kick, one chord held to the end and one bass note."""
    measures = unfolded(TURN, str(groove.meters[0]))
    band = accompany(measures, groove, seed=5, ending=Ending.FINAL)
    start, end = measures[-1].onset, measures[-1].end
    assert {hit.drum for hit in band.drums.hits if hit.onset >= start} == {Drum.CRASH, Drum.KICK}
    for part in band.parts:
        last = [note for note in part.notes if note.onset >= start]
        assert last
        assert all(note.onset == start and note.end == end for note in last)


@pytest.mark.parametrize("groove_id", ["drone", "metronome"])
def test_drums_without_a_crash_play_to_the_end(groove_id: str) -> None:
    """What only keeps time has no last stroke: the final bar is like the first of its section."""
    measures = unfolded("Em7 | A7 | Em7 | A7")
    hits = accompany(measures, GROOVES[groove_id], seed=2, ending=Ending.FINAL).drums.hits
    first = [(hit.onset, hit.drum, hit.velocity) for hit in hits if hit.onset < 4]
    assert [(hit.onset - 12, hit.drum, hit.velocity) for hit in hits if hit.onset >= 12] == first


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_the_metronome_clicks_as_the_count_in_does(meter: Meter) -> None:
    """Metronome only: the beats of the count-in in every bar, as high and low, and no other part."""
    measures = unfolded("Em7 | A7", str(meter))
    band = accompany(measures, GROOVES["metronome"], seed=0)
    counted = count_in(meter, bars=2)
    assert band.parts == ()
    assert [(hit.onset, hit.drum) for hit in band.drums.hits] == [(hit.onset, hit.drum) for hit in counted]
    loudest = max(hit.velocity for hit in band.drums.hits)
    assert [h.onset for h in band.drums.hits if h.velocity == loudest] == [0, meter.bar]
    assert loudest >= CLICK_ACCENT > sorted({hit.velocity for hit in band.drums.hits})[-2]


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_a_drone_is_held(meter: Meter) -> None:
    """The drone sounds root and perfect fifth of each chord, the root where there is none, without a gap."""
    measures = unfolded("Em7 | Bm7b5 E7 | C/G", str(meter))
    band = accompany(measures, GROOVES["drone"], seed=0)
    spans = [span for measure in measures for span in measure.chords]
    for span, fifth in zip(spans, (True, False, True, True), strict=True):
        assert span.chord is not None
        root = span.chord.root.pitch_class
        sounding = [note for note in band.parts[0].notes if note.onset == span.onset]
        assert {note.pitch.midi % 12 for note in sounding} == ({root, (root + 7) % 12} if fifth else {root})
        assert all(note.duration == span.duration for note in sounding)
    assert [(note.onset, note.duration) for note in band.parts[1].notes] == [(s.onset, s.duration) for s in spans]


def test_a_part_without_patterns_rests() -> None:
    """A groove may leave out drums, bass or chords: that part is not there, the others play."""
    whole = GROOVES["shuffle"]
    for key in ("beats", "bass", "chords"):
        gone = {"beats": (), "fills": ()} if key == "beats" else {key: ()}
        groove = replace(whole, plans={FOUR: replace(whole.plan(FOUR), **gone)})
        band = accompany(unfolded(BLUES), groove, seed=4, ending=Ending.FINAL)
        roles = {part.role for part in band.parts} | ({PartRole.DRUMS} if band.drums.hits else set())
        silent = {"beats": PartRole.DRUMS, "bass": PartRole.BASS, "chords": PartRole.CHORDS}[key]
        assert roles == {PartRole.DRUMS, PartRole.BASS, PartRole.CHORDS} - {silent}


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_count_in(meter: Meter) -> None:
    """The count-in clicks every tapped beat of its bars, the first of each bar loudest."""
    clicks = count_in(meter, bars=2)
    assert all(hit.drum is Drum.CLICK and 0 <= hit.onset < 2 * meter.bar for hit in clicks)
    accents = [hit.onset for hit in clicks if hit.velocity == 1.0]
    assert accents == [0, meter.bar]
    beats = len(meter.groups) if meter.is_compound else meter.upper
    assert len(clicks) == 2 * beats


def test_count_in_of_uneven_bars_marks_the_groups() -> None:
    """5/4 is counted 3+2: the fourth click is second loudest."""
    velocities = [hit.velocity for hit in count_in(Meter(5, 4))]
    assert velocities[0] > velocities[3] > velocities[1] == velocities[2] == velocities[4]


def test_misfits_and_empty_bars_are_refused() -> None:
    """A groove that does not fit the meter, or no bars at all, is refused."""
    with pytest.raises(GrooveError, match="does not fit 7/8"):
        accompany(unfolded("Em7", "7/8"), GROOVES["swing"], seed=0)
    with pytest.raises(ValueError, match="at least one bar"):
        accompany((), GROOVES["swing"], seed=0)


def test_bars_from_the_middle_keep_their_time() -> None:
    """Bars that do not begin at 0 are played where they stand."""
    measures = unfolded(BLUES)[4:8]
    band = accompany(measures, GROOVES["shuffle"], seed=1)
    onsets = [hit.onset for hit in band.drums.hits] + [note.onset for part in band.parts for note in part.notes]
    assert min(onsets) == 16
    assert max(onsets) < 32

"""Intensity: the first part is calm, the last one is not, and all parts of the band follow."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log10
from random import Random
from statistics import mean

import pytest
from band_strategies import BLUES, FULL_BANDS, bars_in, notes_of, unfolded
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band.arrange import Ensemble, accompany
from phrasewright.band.drums import beat_of, busyness
from phrasewright.band.form import EVEN_INTENSITY, BarPlan, Ending, plan_bars
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.intensity import gain_db, louder, rung, shaped, window, without
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure, PartRole
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter

LEAST_LOUDER_DB, MOST_LOUDER_DB = 1.0, 4.0  # the last chorus against the first
SEEDS = range(8)


def curve(measures: tuple[Measure, ...], seed: int = 0) -> tuple[BarPlan, ...]:
    return shaped(plan_bars(measures, rng=Random(seed), ending=Ending.LOOP), rng=Random(seed))


def named(*parts: str, bars: int = 8) -> tuple[Measure, ...]:
    bar = ((parse_chord("Em7"), Fraction(4)),)
    names = [name if place == 0 else "" for name in parts for place in range(bars)]
    chart = Chart(meter=Meter(4, 4), bars=tuple(ChartBar(chords=bar, section=name) for name in names))
    return chart.unfold(len(names))


def strokes(band: Ensemble, start: Fraction, end: Fraction) -> list[float]:
    """Velocities of all that is struck between two times, a chord once."""
    chords = {note.onset: note.velocity for note in notes_of(band, PartRole.CHORDS) if start <= note.onset < end}
    bass = [note.velocity for note in notes_of(band, PartRole.BASS) if start <= note.onset < end]
    kit = [hit.velocity for hit in band.drums.hits if start <= hit.onset < end]
    return [*chords.values(), *bass, *kit]


def loudness_db(velocities: list[float]) -> float:
    """What all strokes together radiate, amplitude taken as velocity to the power of 1.5 (docs/sound.md)."""
    return 10.0 * log10(sum(velocity**3 for velocity in velocities))


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
def test_the_last_chorus_is_louder_and_fuller(groove: Groove) -> None:
    """Of three blues choruses the last has more strokes than the first and is louder by one to four decibels."""
    measures = unfolded(BLUES, str(groove.meters[0]), choruses=3)
    end = measures[-1].end
    louder_db, fuller = [], []
    for seed in SEEDS:
        band = accompany(measures, groove, seed=seed)
        first, last = strokes(band, Fraction(0), end / 3), strokes(band, 2 * end / 3, end)
        louder_db.append(loudness_db(last) - loudness_db(first))
        fuller.append(len(last) / len(first))
    print(f"{groove.id}: {mean(louder_db):.1f} dB louder, {mean(fuller):.2f} times the strokes")
    assert LEAST_LOUDER_DB <= mean(louder_db) <= MOST_LOUDER_DB
    assert min(louder_db) > 0
    assert mean(fuller) > 1.0


@pytest.mark.parametrize("groove", FULL_BANDS, ids=lambda groove: groove.id)
def test_the_beat_grows_with_the_form(groove: Groove) -> None:
    """The last chorus has a busier beat than the first, wherever the groove has two."""
    for meter in groove.meters:
        bars = curve(unfolded(BLUES, str(meter), choruses=3))
        first, last = (busyness(beat_of(groove.plan(meter), bar)) for bar in (bars[0], bars[-1]))
        assert last > first


@pytest.mark.parametrize("groove_id", ["drone", "metronome"])
def test_what_only_keeps_time_stays_even(groove_id: str) -> None:
    """Metronome and drone are as loud in every chorus."""
    band = accompany(unfolded(BLUES, choruses=3), GROOVES[groove_id], seed=1)
    assert max(strokes(band, Fraction(0), Fraction(48))) == max(strokes(band, Fraction(96), Fraction(144)))


@given(
    st.sampled_from(["2/4", "4/4", "6/8"]).flatmap(lambda text: bars_in(Meter.parse(text), most=12)), st.integers(0, 9)
)
def test_the_curve_is_a_share(measures: tuple[Measure, ...], seed: int) -> None:
    """Every bar has an intensity between 0 and 1, its own part's begin among them, and the seed alone decides."""
    bars = curve(measures, seed)
    assert all(0.0 <= bar.level <= bar.intensity <= 1.0 for bar in bars)
    assert bars == curve(measures, seed)
    assert [bar.measure for bar in bars] == list(measures)


def test_parts_build_to_their_end() -> None:
    """Within a part no phrase is calmer than the one before; the next one of the same kind begins higher."""
    bars = curve(unfolded(BLUES, choruses=3))
    for start in (0, 12, 24):
        part = [bar.intensity for bar in bars[start : start + 12]]
        assert part == sorted(part)
        assert part[0] < part[-1]
    assert bars[0].intensity < bars[12].intensity < bars[24].intensity


def test_a_chorus_lies_over_its_verse() -> None:
    """Names say where a part lies: intro under verse under chorus; outro falls (common practice)."""
    for seed in SEEDS:
        bars = curve(named("Intro", "Verse 1", "Chorus", "Verse 2", "Chorus"), seed)
        intro, verse, chorus, second, last = (bars[place * 8].level for place in range(5))
        assert intro < verse < chorus
        assert second < last
    assert curve(named("A", "Outro"))[8].level < curve(named("A", "A"))[8].level


def test_a_long_form_draws_back_once() -> None:
    """In some tracks of eight choruses one of the later ones falls well under the one before; never the last."""
    falls = 0
    for seed in range(20):
        levels = [bar.level for bar in curve(unfolded(BLUES, choruses=8), seed)[::12]]
        drops = [place for place, (a, b) in enumerate(pairwise(levels), start=1) if b < a - 0.1]
        assert len(drops) <= 1
        assert all(3 < place < 7 for place in drops)
        falls += len(drops)
        assert max(levels) == levels[-1]
    assert 5 <= falls <= 18


def test_a_long_vamp_of_one_part_still_moves() -> None:
    """One part alone begins in the middle and builds."""
    bars = curve(named("A", bars=16))
    assert bars[0].intensity < bars[-1].intensity


def test_loudness_of_an_intensity() -> None:
    """The even intensity is as written, 0 is 3 dB softer and 1 a decibel louder, at a power of 1.5."""
    assert louder(0.8, EVEN_INTENSITY) == 0.8
    for intensity, decibels in ((0.0, -3.0), (1.0, 1.0)):
        assert gain_db(intensity) == pytest.approx(decibels)
        assert 30.0 * log10(louder(0.5, intensity) / 0.5) == pytest.approx(decibels, abs=0.05)
    assert louder(1.0, 1.0) == 1.0


@pytest.mark.parametrize(
    ("level", "one"), [(0.0, "plain"), (0.2, "plain"), (0.5, "middle"), (0.7, "busy"), (1.0, "busy")]
)
def test_rungs(level: float, one: str) -> None:
    """A ladder from plain to busy is climbed with the level."""
    assert rung(["plain", "middle", "busy"], level) == one


def test_windows() -> None:
    """Calm leaves out the busiest, intense the plainest; two are always left where there are two."""
    assert window("abcd", 0.2) == "abc"
    assert window("abcd", 0.9) == "bcd"
    assert window("ab", 0.2) == window("ab", 0.9) == "ab"
    assert window("a", 0.2) == "a"


def test_each_track_spares_a_beat() -> None:
    """Of three or more one is left out, or none; of two both stay."""
    assert ["".join(without("abc", spared)) for spared in range(5)] == ["bc", "ac", "ab", "abc", "bc"]
    assert without("ab", 0) == "ab"

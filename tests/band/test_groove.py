"""Grooves: the table is whole, every pattern is read in its meter, and misfits are explained."""

from __future__ import annotations

from fractions import Fraction

import pytest
from band_strategies import FULL_BANDS, METERS, PAIRS

from phrasewright.band import bass, comping, drums
from phrasewright.band.groove import GROOVES, Groove, GrooveError, groove_named, grooves_for
from phrasewright.band.groove_file import VOICES
from phrasewright.band.groove_model import BASS_SIGNS, CHORD_SIGNS, DRUM_SIGNS, BassStyle, ChordStyle
from phrasewright.band.steps import bars_of, read_steps
from phrasewright.score.model import Drum
from phrasewright.sound.voices import Voice
from phrasewright.theory.meter import Meter

pairs = pytest.mark.parametrize(("groove", "meter"), PAIRS, ids=lambda value: getattr(value, "id", str(value)))


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_every_meter_has_a_groove(meter: Meter) -> None:
    """Each meter a lesson may use has a band, and the drone and the metronome besides."""
    fitting = grooves_for(meter)
    assert fitting[0] in FULL_BANDS
    assert [groove.id for groove in fitting[-2:]] == ["drone", "metronome"]


def test_the_usual_grooves_are_there() -> None:
    """Straight eighths, shuffle, swing and slow 12/8 exist, straight eighths first in 4/4."""
    assert {"straight-eighths", "shuffle", "swing", "slow-12/8"} <= set(GROOVES)
    assert grooves_for(Meter(4, 4))[0].id == "straight-eighths"
    assert grooves_for(Meter(12, 8))[0].id == "slow-12/8"


@pairs
def test_patterns_fit_their_meter(groove: Groove, meter: Meter) -> None:
    """Every pattern divides the bar into sixteenths or coarser, begins inside it and uses only its part's signs."""
    plan = groove.plan(meter)
    kit = [pattern for beat in plan.beats for _, pattern in beat.lanes]
    kit += [pattern for fill in plan.fills for _, pattern in fill.beat.lanes]
    bass_bars = [bar for pattern in plan.bass for bar in bars_of(pattern)]
    assert groove.bass_style is BassStyle.RIFF or len(bass_bars) == len(plan.bass)
    for signs, patterns in ((DRUM_SIGNS, kit), (CHORD_SIGNS, plan.chords), (BASS_SIGNS, bass_bars)):
        for pattern in patterns:
            steps = read_steps(pattern, meter)
            assert steps
            assert {step.sign for step in steps} <= set(signs)
            assert all(step.onset % Fraction(1, 4) == 0 for step in steps)
            assert steps[-1].onset + steps[-1].duration <= meter.bar


@pairs
def test_patterns_are_musical(groove: Groove, meter: Meter) -> None:
    """A beat marks one and keeps time; snare, stick or hat answers; bass begins on one; chords leave room."""
    plan = groove.plan(meter)
    for beat in plan.beats:
        onsets = {drum: {step.onset for step in read_steps(pattern, meter)} for drum, pattern in beat.lanes}
        assert any(0 in strokes for strokes in onsets.values())
        assert any(len(strokes) >= len(meter.groups) for strokes in onsets.values())
        answers = {Drum.SNARE, Drum.SIDE_STICK, Drum.PEDAL_HAT} & onsets.keys()
        assert groove.crash is None or any(onsets[drum] - {Fraction(0)} for drum in answers)
    for pattern in plan.bass:
        assert all(read_steps(bar, meter)[0].onset == 0 for bar in bars_of(pattern))
    for pattern in plan.chords:
        sounding = sum(step.duration for step in read_steps(pattern, meter))
        assert groove.chord_style is ChordStyle.FIFTHS or sounding <= Fraction(2, 3) * meter.bar
    for fill in plan.fills:
        assert 0 < fill.start < meter.bar
        assert any(step.onset >= fill.start for _, lane in fill.beat.lanes for step in read_steps(lane, meter))


@pairs
def test_there_is_choice(groove: Groove, meter: Meter) -> None:
    """Two drum beats and two fills wherever drums play, and two bass patterns and three rhythms in a full band."""
    plan = groove.plan(meter)
    if groove.id != "metronome":
        assert len(set(plan.beats)) >= 2
        assert len(set(plan.fills)) >= 2
        assert plan.fills[0].start >= plan.fills[-1].start
    if groove in FULL_BANDS:
        assert len(set(plan.bass)) >= 2
        assert len(set(plan.chords)) >= 3


def test_every_bass_style_has_a_groove() -> None:
    """Each way to play bass, and each family of voicings, is heard in a ready groove."""
    assert {groove.bass_style for groove in GROOVES.values()} == set(BassStyle)
    assert {groove.chord_style for groove in GROOVES.values()} == set(ChordStyle)


def test_voices_are_those_of_the_sound() -> None:
    """A groove file may name every voice the sound has, and no other."""
    assert set(VOICES) == set(Voice)


def test_every_sign_has_its_loudness() -> None:
    """What a file may write is what the parts can play."""
    assert set(drums.LOUDNESS) == set(DRUM_SIGNS)
    assert set(comping.LOUDNESS) == set(CHORD_SIGNS)
    assert set(bass.LOUDNESS) <= set(BASS_SIGNS)


def test_swing_falls_with_tempo() -> None:
    """Swing and shuffle even out as the tempo rises, within drummers' range (Friberg & Sundstroem 2002)."""
    for groove in GROOVES.values():
        ratios = [groove.swing.ratio_at(float(tempo_bpm)) for tempo_bpm in range(40, 340, 10)]
        assert ratios == sorted(ratios, reverse=True)
        assert all(1.0 <= ratio <= 3.5 for ratio in ratios)
    assert GROOVES["swing"].swing.ratio_at(120.0) > 2.0
    assert GROOVES["swing"].swing.ratio_at(300.0) == 1.0
    assert GROOVES["straight-eighths"].swing.ratio_at(120.0) == 1.0


def test_swung_grooves_stay_in_meters_of_whole_quarters() -> None:
    """Swing is counted on quarter notes, so only meters whose bars are whole quarters carry it."""
    for groove in GROOVES.values():
        assert not groove.swing.points or all(meter.lower == 4 for meter in groove.meters)


def test_a_misfit_names_its_meters() -> None:
    """A groove asked to play a meter it cannot says which meters it has."""
    with pytest.raises(GrooveError) as caught:
        GROOVES["swing"].plan(Meter(7, 8))
    assert "does not fit 7/8" in str(caught.value)
    assert caught.value.hint == "It is for 4/4, 2/4, 3/4, 5/4."


def test_an_unknown_groove_names_those_there_are() -> None:
    """An unknown id is answered with the list."""
    assert groove_named("swing") is GROOVES["swing"]
    with pytest.raises(GrooveError, match="no groove 'polka'"):
        groove_named("polka")


@pytest.mark.parametrize("pattern", ["", "-x", "x.-"])
def test_patterns_that_say_nothing(pattern: str) -> None:
    """A hold needs a stroke before it and a pattern needs steps."""
    with pytest.raises(ValueError, match=r"needs at least|nothing to hold"):
        read_steps(pattern, Meter(4, 4))


def test_steps_hold_and_rest() -> None:
    """Four characters in 4/4 are quarters; a hold lengthens, a dot is silent."""
    steps = read_steps("x-.X", Meter(4, 4))
    assert [(step.onset, step.duration, step.sign) for step in steps] == [(0, 2, "x"), (3, 1, "X")]

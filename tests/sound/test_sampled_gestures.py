"""Bends, vibrato, slides, hammer-ons, pull-offs, palm mutes and dead notes with a font's samples.

Pitch over time is measured on the sound: phase of the first partial. A sample has a wobble of its own (weak or beating
fundamentals), so pitch is held to the asked curve in nine tenths of the note, and against the same sample's plain note.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_measures import RATE, fall_time_s, rms
from test_gestures import pitch_over_time

from phrasewright.score.technique import Damping, Start
from phrasewright.sound.events import TimedNote
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture, cents_at
from phrasewright.sound.render import render_notes
from phrasewright.sound.sampled import Sampled
from phrasewright.sound.sampled_touch import LEAST_SKIP_S, MOST_SKIP_S, skip_s, struck_midi, wheel_cents
from phrasewright.sound.synth import Player
from phrasewright.sound.voices import Voice
from sampled_sound import needs_sampled, some_font

BEND = Gesture(start=Start.BENT, from_cents=-200, travel_s=0.2)
QUICK_BEND = Gesture(start=Start.BENT, from_cents=-100, travel_s=0.06)
SHAKEN_BEND = Gesture(start=Start.BENT, from_cents=-200, travel_s=0.15, vibrato=True)
VIBRATO = Gesture(vibrato=True)
SLIDE = Gesture(start=Start.SLID, from_cents=-300, travel_s=0.08, rung_s=0.3)
HAMMER = Gesture(start=Start.HAMMERED, rung_s=0.25)
PULL = Gesture(start=Start.PULLED, rung_s=0.02)
PALM, DEAD = Gesture(damping=Damping.PALM), Gesture(damping=Damping.DEAD)
EVERY = [BEND, QUICK_BEND, SHAKEN_BEND, VIBRATO, SLIDE, HAMMER, PULL, PALM, DEAD]
STEADY_NOTES = [
    (Voice.GUITAR, 64), (Voice.GUITAR, 71),
    (Voice.NYLON_GUITAR, 52), (Voice.NYLON_GUITAR, 57), (Voice.NYLON_GUITAR, 71),
    (Voice.ACOUSTIC_GUITAR, 52), (Voice.ACOUSTIC_GUITAR, 64), (Voice.ACOUSTIC_GUITAR, 71),
]  # fmt: skip
CENTS = 10.0


def note(voice, pitch, gesture=PLAIN_GESTURE, *, duration_s=1.5):
    return Sampled(some_font()).note(voice, pitch, duration_s, 0.7, sample_rate=RATE, seed=0, gesture=gesture)


@needs_sampled
@pytest.mark.parametrize(("voice", "pitch"), STEADY_NOTES)
@pytest.mark.parametrize("gesture", [BEND, QUICK_BEND, SHAKEN_BEND, VIBRATO], ids=str)
def test_pitch_follows_the_curve(voice, pitch, gesture):
    """From 40 ms on, within 10 cents of what is asked, the font's own tuning included."""
    time_s = np.arange(round(1.2 * RATE)) / RATE
    heard = pitch_over_time(note(voice, pitch, gesture), pitch)[: len(time_s)]
    off = (heard - cents_at(gesture, time_s))[round(0.04 * RATE) :]
    assert abs(np.median(off)) < 6.0
    assert np.percentile(np.abs(off), 90) < CENTS


@needs_sampled
@pytest.mark.parametrize("voice", [Voice.GUITAR, Voice.NYLON_GUITAR, Voice.ACOUSTIC_GUITAR])
def test_a_slide_passes_the_frets_and_arrives(voice):
    """0.3 s in it is at its pitch within 10 cents; at the start it is more than a whole tone under it."""
    heard = pitch_over_time(note(voice, 64, SLIDE), 64, band_cents=600.0)
    assert abs(np.median(heard[round(0.3 * RATE) : round(0.6 * RATE)])) < CENTS
    assert np.median(heard[round(0.002 * RATE) : round(0.008 * RATE)]) < -200.0


@needs_sampled
@pytest.mark.parametrize("gesture", EVERY, ids=str)
@pytest.mark.parametrize("voice", [Voice.GUITAR, Voice.NYLON_GUITAR, Voice.ACOUSTIC_GUITAR])
def test_onsets_stand_where_the_schedule_says(voice, gesture):
    """Nothing before, and sound within a millisecond, whatever the block of 64."""
    at_s = 0.5 + 7 / RATE
    one = TimedNote(onset_s=at_s, duration_s=0.4, pitch_midi=64, velocity=0.8, gesture=gesture)
    stem = render_notes([one], voice, length=2 * RATE, sounds=Sampled(some_font()))
    first = round(at_s * RATE)
    piece = np.abs(stem[first : first + RATE // 4])
    assert not stem[:first].any()
    assert np.argmax(piece > 0.02 * piece.max()) <= RATE // 1000


@needs_sampled
@pytest.mark.parametrize("gesture", [HAMMER, PULL], ids=str)
def test_a_string_that_rings_on_is_not_picked_again(gesture):
    """After it has come in it is, sample by sample, what the picked note is once its pick is over."""
    passed_s = skip_s(gesture)
    picked, rung = note(Voice.GUITAR, 64, duration_s=1.0 + passed_s), note(Voice.GUITAR, 64, gesture, duration_s=1.0)
    rise, passed = RATE // 500, round(passed_s * RATE)
    assert passed_s >= LEAST_SKIP_S
    assert np.array_equal(rung[rise:RATE], picked[passed + rise :][: RATE - rise])


@needs_sampled
@pytest.mark.parametrize("voice", [Voice.GUITAR, Voice.NYLON_GUITAR, Voice.DRIVEN_GUITAR])
@pytest.mark.parametrize("pitch", [45, 57, 69])
def test_palm_mutes_and_dead_notes_are_short(voice, pitch):
    """A palm takes 20 dB within a quarter of a second, a resting finger within 50 ms; both are heard."""
    open_note, palm, dead = (note(voice, pitch, gesture) for gesture in (PLAIN_GESTURE, PALM, DEAD))
    assert fall_time_s(dead, 20.0) < 0.05 < fall_time_s(open_note, 20.0)
    assert fall_time_s(palm, 20.0) < 0.25 < fall_time_s(open_note, 20.0)
    assert len(dead) < RATE // 10
    assert np.abs(palm).max() > 0.2 * np.abs(open_note).max()
    assert np.abs(dead).max() > 0.03 * np.abs(open_note).max()


@needs_sampled
def test_a_font_without_a_muted_guitar(monkeypatch):
    """The palm is laid on the voice's own sound; where the font has one, the muted guitar plays."""
    muted = note(Voice.GUITAR, 57, PALM)
    monkeypatch.setattr(Player, "offers", lambda *_: False)
    own = note(Voice.GUITAR, 57, PALM)
    assert fall_time_s(own, 20.0) < 0.25
    shared = min(len(own), len(muted))
    assert rms(own[:shared] - muted[:shared]) > 0.2 * rms(own)


@needs_sampled
def test_the_same_gesture_is_the_same_samples():
    """Whatever was played before; and a plain note after a bent one is as it was."""
    plain = note(Voice.GUITAR, 64)
    first = [note(Voice.GUITAR, 64, gesture) for gesture in EVERY]
    again = [note(Voice.GUITAR, 64, gesture) for gesture in reversed(EVERY)][::-1]
    assert all(np.array_equal(one, other) for one, other in zip(first, again, strict=True))
    assert np.array_equal(note(Voice.GUITAR, 64), plain)


@needs_sampled
@pytest.mark.parametrize("voice", [Voice.ORGAN, Voice.ELECTRIC_PIANO])
def test_keyboards_have_none_of_it(voice):
    """As with our models."""
    assert np.array_equal(note(voice, 60, SHAKEN_BEND), note(voice, 60))


@given(
    from_cents=st.integers(-7, 7).map(lambda frets: 100 * frets),
    start=st.sampled_from([Start.BENT, Start.SLID]),
    travel_s=st.floats(0.01, 0.5),
    vibrato=st.booleans(),
    rung_s=st.floats(0.0, 1.5),
)
@settings(max_examples=60)
def test_the_wheel_adds_up_to_the_written_pitch(from_cents, start, travel_s, vibrato, rung_s):
    """Pitch struck plus wheel is the asked curve at every moment; before the onset the wheel rests."""
    gesture = Gesture(start=start, from_cents=from_cents, travel_s=travel_s, vibrato=vibrato, rung_s=rung_s)
    time_s = np.linspace(-0.1, 1.0, 200)
    wheel = wheel_cents(gesture, time_s)
    assert (wheel is None) == gesture.is_steady
    if wheel is not None:
        after = time_s >= 0.0
        total = 100 * (struck_midi(60, gesture) - 60) + wheel
        assert np.allclose(total[after], cents_at(gesture, time_s[after]))
        assert np.allclose(wheel[~after], 0.0)
    assert skip_s(gesture) == 0.0 if start is Start.BENT else LEAST_SKIP_S <= skip_s(gesture) <= MOST_SKIP_S

"""Bends, vibrato, slides, hammer-ons, pull-offs, palm mutes and dead notes as they sound.

Pitch over time is measured on the sound itself: phase of the first partial against a sine of the written pitch.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, sosfiltfilt
from sound_measures import RATE, centroid_hz, cents_off, fall_time_s, rms

import sample_scores
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Note, Part, PartRole
from phrasewright.score.performance import Performance
from phrasewright.score.technique import DEAD, PLAIN, Bend, Damping, Start, Touch
from phrasewright.sound import bank, gesture, strings, touched
from phrasewright.sound.events import TimedNote, timed_notes
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture, cents_at
from phrasewright.sound.render import render_notes
from phrasewright.sound.voices import Voice, render_note
from phrasewright.units import hz_from_midi

GUITAR = sample_scores.GUITAR
HALF = Fraction(1, 2)


def pitch_over_time(sound, pitch_midi, *, band_cents=400.0):
    """Cents against a pitch, sample by sample: turn of the first partial, filtered out and made analytic."""
    hz = hz_from_midi(pitch_midi)
    low, high = hz * 2 ** (-band_cents / 1200), hz * 2 ** (band_cents / 1200)
    sos = butter(2, [low, high], "bandpass", fs=RATE, output="sos")
    first = sosfiltfilt(sos, np.asarray(sound, dtype=np.float64))
    spectrum = np.fft.fft(first)
    spectrum[len(first) // 2 :] = 0.0
    turn = np.unwrap(np.angle(np.fft.ifft(2 * spectrum)))
    found_hz = np.gradient(turn) * RATE / (2 * np.pi)
    width = int(0.01 * RATE)
    smooth_hz = np.convolve(found_hz, np.ones(width) / width, "same")
    return 1200.0 * np.log2(np.maximum(smooth_hz, 1.0) / hz)


def play(gesture_, pitch=64, duration_s=2.0, velocity=0.8, voice=Voice.GUITAR):
    return render_note(voice, pitch, duration_s, velocity, gesture=gesture_)


def at_s(curve, time_s):
    return float(curve[int(time_s * RATE)])


@pytest.mark.parametrize("semitones", [1, 2])
@pytest.mark.parametrize("voice", [Voice.GUITAR, Voice.ACOUSTIC_GUITAR])
def test_a_bend_rises_from_its_fret_and_arrives_in_tune(semitones, voice):
    """It begins on the fretted pitch, only rises, and holds the written one within 2 cents."""
    bend = Gesture(start=Start.BENT, from_cents=-100 * semitones, travel_s=0.3)
    sound = play(bend, 69, voice=voice)
    curve = pitch_over_time(sound, 69)
    assert at_s(curve, 0.03) == pytest.approx(-100 * semitones, abs=12)
    assert at_s(curve, 0.15) == pytest.approx(-50 * semitones, abs=12)
    way = curve[int(0.05 * RATE) : int(0.3 * RATE) : 441]  # once the knock of the body is over
    assert (np.diff(way) > -2.0).all()
    assert abs(cents_off(sound, 69, skip_s=0.35, length_s=1.5)) < 2.0


@pytest.mark.parametrize("frets", [2, -3, 5])
def test_a_slide_passes_every_fret(frets):
    """It leaves from the fret it comes from and is on the written one after a tenth of a second, in tune."""
    slide = Gesture(start=Start.SLID, from_cents=-100 * frets, travel_s=0.1, rung_s=0.3)
    times = np.arange(int(0.12 * RATE)) / RATE
    way = cents_at(slide, times)
    assert way[0] == -100 * frets
    resting = np.unique(way[np.gradient(way) == 0.0].round(6))
    assert set(resting) == {-100.0 * fret for fret in range(0, frets, 1 if frets > 0 else -1)} | {-100.0 * frets}
    assert abs(cents_off(play(slide), 64, skip_s=0.15, length_s=1.5)) < 2.0


def test_vibrato_has_its_rate_and_width():
    """It begins after a fifth of a second, never falls below the fretted note, and swings as wide as it says."""
    curve = pitch_over_time(play(Gesture(vibrato=True), 69, 3.0), 69)
    assert np.abs(curve[int(0.08 * RATE) : int(0.2 * RATE)]).max() < 2.0
    settled = curve[int(0.8 * RATE) : int(2.6 * RATE)]
    assert settled.min() > -3.0
    assert settled.max() - settled.min() == pytest.approx(gesture.VIBRATO_CENTS, rel=0.12)
    spectrum = np.abs(np.fft.rfft((settled - settled.mean()) * np.hanning(len(settled)), 1 << 20))
    assert spectrum.argmax() * RATE / (1 << 20) == pytest.approx(gesture.VIBRATO_HZ, rel=0.03)


def test_a_shaken_bend_swings_below_its_note():
    """The hand slackens a bent string and pushes it again."""
    times = np.arange(2 * RATE) / RATE
    cents = cents_at(Gesture(start=Start.BENT, from_cents=-200, travel_s=0.2, vibrato=True), times)
    assert cents.max() <= 1e-9
    assert cents[RATE:].min() == pytest.approx(-gesture.VIBRATO_CENTS, abs=0.5)


@pytest.mark.parametrize("start", [Start.HAMMERED, Start.PULLED, Start.SLID])
def test_a_string_that_sounds_on_is_softer_and_rounder_than_a_struck_one(start):
    """No pick noise, less energy, fewer highs; and the longer it has rung, the less is left."""
    struck, legato = play(PLAIN_GESTURE), play(Gesture(start=start, rung_s=0.4))
    late = play(Gesture(start=start, rung_s=1.2))
    assert rms(late[:8192]) < rms(legato[:8192]) < 0.8 * rms(struck[:8192])
    assert centroid_hz(legato[:4096]) < 0.9 * centroid_hz(struck[:4096])


@pytest.mark.parametrize("start", [Start.HAMMERED, Start.PULLED])
def test_a_hammered_note_is_in_tune_from_its_onset(start):
    """The new pitch stands at once, within 2 cents, and its onset within a millisecond."""
    sound = play(Gesture(start=start, rung_s=0.25), 64, 1.0)
    assert abs(cents_off(sound, 64, skip_s=0.02, length_s=0.9)) < 2.0
    assert np.abs(sound[: RATE // 1000]).max() > 0.03 * np.abs(sound).max()


def test_a_palm_mute_is_short():
    """Under the palm a note has the losses of the muted guitar: 30 dB down in a quarter of a second."""
    muted, ringing = play(Gesture(damping=Damping.PALM), 45), play(PLAIN_GESTURE, 45)
    assert fall_time_s(muted, 30.0) < 0.25 < 1.0 < fall_time_s(ringing, 30.0)
    assert touched.palmed(strings.ACOUSTIC).mute_loss_db_per_s == strings.MUTED.mute_loss_db_per_s


def test_a_dead_note_is_a_click_without_pitch():
    """30 dB down within 25 ms, four periods of its pitch, which do not even repeat as those of a ringing note do."""
    dead = play(Gesture(damping=Damping.DEAD), 52, 0.3)
    assert fall_time_s(dead, 30.0) < 0.025 < 4.2 / hz_from_midi(52)

    def repeats(sound):
        piece = np.asarray(sound[:2600], dtype=np.float64)
        period = round(RATE / hz_from_midi(52))
        return float(np.corrcoef(piece[:-period], piece[period:])[0, 1])

    assert repeats(dead) < 0.85 < 0.95 < repeats(play(PLAIN_GESTURE, 52, 0.3))


def line(*notes):
    """Notes from (onset, duration, string, fret, touch); a bent note's fret is the one it is bent from."""
    made = []
    for onset, duration, string, fret, touch in notes:
        place = StringFret(string, fret)
        midi = GUITAR.midi_at(place) + (touch.bend.semitones if touch.bend else 0)
        pitch = sample_scores.Pitch.from_midi(midi, sample_scores.NoteName.parse(_NAMES[midi % 12]))
        made.append(Note(onset=Fraction(onset), duration=Fraction(duration), pitch=pitch, place=place, touch=touch))
    return Part(role=PartRole.LEAD, name="Lead", notes=tuple(made), instrument=GUITAR)


_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
HAMMERED, PULLED, SLID = (Touch(start=start) for start in (Start.HAMMERED, Start.PULLED, Start.SLID))


def test_a_line_gets_its_gestures():
    """Legato notes know how long their string has rung through the whole chain; a slide knows its frets."""
    bent = Touch(start=Start.BENT, bend=Bend(semitones=2, arrives=Fraction(1, 4)), vibrato=True)
    part = line(
        (0, HALF, 3, 5, PLAIN), (HALF, HALF, 3, 7, HAMMERED), (1, HALF, 3, 5, PULLED), (Fraction(3, 2), 1, 3, 9, SLID),
        (3, 2, 2, 8, bent), (5, HALF, 2, 8, DEAD),
    )  # fmt: skip
    notes = timed_notes(part, Performance(tempo_bpm=60.0))
    assert [note.gesture.rung_s for note in notes] == [0.0, 0.5, 1.0, 1.5, 0.0, 0.0]
    assert [note.handed_on for note in notes] == [True, True, True, False, False, False]
    assert notes[3].gesture.from_cents == -400
    assert 0.06 <= notes[3].gesture.travel_s <= 0.12
    assert (notes[4].gesture.from_cents, notes[4].gesture.travel_s) == (-200, 0.5)
    assert notes[5].gesture.damping is Damping.DEAD
    assert notes[0].gesture == PLAIN_GESTURE


def test_one_note_of_a_string_gives_way_to_the_next():
    """Where a string goes on, the note before is silent 5 ms later; otherwise it is damped as ever."""
    part = line((0, 1, 3, 5, PLAIN), (1, 1, 3, 7, HAMMERED))
    notes = timed_notes(part, Performance(tempo_bpm=120.0))
    first = render_notes(notes[:1], Voice.GUITAR, length=RATE)
    damped = render_notes([replace(notes[0], handed_on=False)], Voice.GUITAR, length=RATE)
    end = RATE // 2
    assert np.array_equal(first[:end], damped[:end])
    assert not first[end + RATE // 200 :].any()
    assert rms(damped[end : end + RATE // 100]) > 0.0


@settings(max_examples=8)
@given(start=st.sampled_from([Start.HAMMERED, Start.PULLED, Start.SLID]), frets=st.integers(1, 5))
def test_no_click_where_a_string_goes_on(start, frets):
    """At the join nothing moves faster than at a struck onset."""
    down = start is Start.PULLED
    low, high = (5 + frets, 5) if down else (5, 5 + frets)
    part = line((0, 1, 3, low, PLAIN), (1, 1, 3, high, Touch(start=start)))
    sound = render_notes(timed_notes(part, Performance(tempo_bpm=100.0)), Voice.GUITAR, length=2 * RATE)
    steps = np.abs(np.diff(sound.astype(np.float64), 2))
    join = round(0.6 * RATE)
    assert steps[join - 50 : join + 300].max() < steps[:300].max()


def test_every_gesture_has_its_own_clip():
    """A page plays the touches that files have: one clip each, the same name for the same sound."""
    plain = TimedNote(onset_s=0.0, duration_s=0.5, pitch_midi=64, velocity=0.7)
    bent = replace(plain, gesture=Gesture(start=Start.BENT, from_cents=-200, travel_s=0.2))
    sprite = bank.pitched_sprite([plain, bent, bent], Voice.GUITAR)
    keys = [bank.note_key(note, Voice.GUITAR) for note in (plain, bent)]
    assert [clip.key for clip in sprite.clips] == sorted(keys)
    assert keys == ["guitar 64 0.7", "guitar 64 0.7 bent -200 0.2"]
    clip = sprite.clip(keys[1])
    start = round(clip.start_s * RATE)
    stem = render_notes([bent], Voice.GUITAR, length=RATE)[: RATE // 2]
    page = sprite.audio[start : start + RATE // 2] * bank.note_gain(bent)
    assert rms(page - stem) < 1e-3 * rms(stem)


def test_keyboards_have_no_touches():
    """An organ plays the note and nothing else."""
    bent = Gesture(start=Start.BENT, from_cents=-200, travel_s=0.2)
    assert np.array_equal(play(bent, voice=Voice.ORGAN), play(PLAIN_GESTURE, voice=Voice.ORGAN))

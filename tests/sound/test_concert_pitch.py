"""Concert pitch other than 440 Hz: what sounds, and what a MIDI file says."""

from __future__ import annotations

import io

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sound_measures import RATE, cents_off
from test_midifile import full_score

from phrasewright.sound.bank import pitched_sprite
from phrasewright.sound.events import TimedNote
from phrasewright.sound.midi_tuning import tuning_controls
from phrasewright.sound.midifile import DRUM_CHANNEL, midi_bytes
from phrasewright.sound.render import render_notes
from phrasewright.sound.sounds import Models
from phrasewright.sound.voices import Voice
from phrasewright.units import cents_between


@pytest.mark.parametrize("a4_hz", [415.0, 440.0, 466.0])
@pytest.mark.parametrize(
    ("voice", "pitches"),
    [
        (Voice.GUITAR, range(40, 89, 6)),
        (Voice.ACOUSTIC_GUITAR, range(40, 84, 11)),
        (Voice.BASS, range(28, 61, 5)),
        (Voice.ELECTRIC_PIANO, range(40, 84, 11)),
        (Voice.ORGAN, range(40, 84, 11)),
    ],
)
def test_what_sounds_is_what_is_asked_for(voice, pitches, a4_hz):
    """Over the range of lead and bass a stem is within 2 cents of the pitch at that A4."""
    for pitch in pitches:
        notes = [TimedNote(onset_s=0.0, duration_s=1.6, pitch_midi=pitch, velocity=0.7)]
        stem = render_notes(notes, voice, length=2 * RATE, sounds=Models(a4_hz))
        assert abs(cents_off(stem, pitch, a4_hz=a4_hz)) < 2.0


def test_the_page_sounds_as_high():
    """The bank's clips are tuned as the stems are."""
    notes = [TimedNote(onset_s=0.0, duration_s=1.5, pitch_midi=57, velocity=0.7)]
    sprite = pitched_sprite(notes, Voice.GUITAR, sounds=Models(415.0))
    assert abs(cents_off(sprite.audio, 57, length_s=1.3, a4_hz=415.0)) < 2.0


@given(st.floats(415.0, 466.0))
def test_tuning_in_midi(a4_hz):
    """Read back as a synthesizer does (MIDI 1.0, registered parameters 1 and 2), it is A4 within 0.02 cents."""
    parameter, value, cents = [127, 127], {}, 0.0
    for control, data in tuning_controls(a4_hz):
        if control in (101, 100):
            parameter[101 - control] = data
        else:
            value[(tuple(parameter), control)] = data
    assert parameter == [127, 127]
    cents += 100.0 * (value[((0, 2), 6)] - 64)
    cents += 100.0 * ((value[((0, 1), 6)] << 7 | value[((0, 1), 38)]) - 8192) / 8192
    assert cents == pytest.approx(cents_between(440.0, a4_hz), abs=0.02)


def test_a_midi_file_is_tuned_where_it_must_be():
    """Every pitched channel before its first note, the drums never; at 440 Hz nothing is said."""
    for a4_hz in (440.0, 442.0):
        file = mido.MidiFile(file=io.BytesIO(midi_bytes(full_score(), 100.0, a4_hz=a4_hz)))
        for track in file.tracks[1:]:
            messages = [message for message in track if not message.is_meta]
            tuned = [message for message in messages if message.type == "control_change"]
            assert bool(tuned) == (a4_hz != 440.0 and messages[0].channel != DRUM_CHANNEL)
            assert all(message.time == 0 for message in tuned)
            assert messages.index(tuned[-1]) < [m.type for m in messages].index("note_on") if tuned else True

"""MIDI files read back by mido say what the score says."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sample_scores
from phrasewright.engrave.musicxml import VOICE_PROGRAMS
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Drum, DrumPart, Hit, Note, Part, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.score.technique import PLAIN, Bend, Damping, Start, Touch
from phrasewright.sound.midifile import (
    DRUM_CHANNEL,
    PERCUSSION,
    PROGRAMS,
    TICKS_PER_QUARTER,
    midi_bytes,
    tick_at,
    velocity_byte,
)
from phrasewright.sound.voices import Voice
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch


def read(content):
    return mido.MidiFile(file=io.BytesIO(content), charset="utf-8")


def absolute(track):
    now = 0
    for message in track:
        now += message.time
        yield now, message


def sounding(track):
    """(onset tick, end tick, pitch, velocity) of every note, by onset."""
    started, notes = {}, []
    for tick, message in absolute(track):
        if message.type == "note_on" and message.velocity:
            started.setdefault(message.note, []).append((tick, message.velocity))
        elif message.type in ("note_on", "note_off"):
            onset, velocity = started[message.note].pop(0)
            notes.append((onset, tick, message.note, velocity))
    assert not any(started.values())
    return sorted(notes)


def expected(part):
    return sorted((tick_at(n.onset), tick_at(n.end), n.pitch.midi, velocity_byte(n.velocity)) for n in part.notes)


@pytest.mark.parametrize("make", sample_scores.ALL)
def test_notes_come_back(make):
    """Every note of a score is read back by mido with its tick, length, pitch and velocity."""
    score = make()
    file = read(midi_bytes(score, 96.0))
    assert file.type == 1
    assert file.ticks_per_beat == TICKS_PER_QUARTER
    for part, track in zip(score.parts, file.tracks[1:], strict=False):
        assert track.name == part.name
        assert sounding(track) == expected(part)


@st.composite
def lines(draw):
    """A monophonic line on a grid of sixteenths and triplets."""
    at, notes = Fraction(0), []
    for step, pitch, velocity in draw(
        st.lists(st.tuples(st.sampled_from([3, 4, 6, 8, 12]), st.integers(30, 90), st.floats(0.01, 1.0)), max_size=12)
    ):
        length = Fraction(step, 12)
        name = NoteName.at_fifths((pitch * 7 + 5) % 12 - 5)
        notes.append(Note(onset=at, duration=length, pitch=Pitch.from_midi(pitch, name), velocity=velocity))
        at += length
    return tuple(notes)


@given(notes=lines(), tempo_bpm=st.floats(30.0, 300.0))
@settings(max_examples=40)
def test_any_line_survives(notes, tempo_bpm):
    """Any line comes back note for note, and the tempo to a microsecond per beat."""
    measures = sample_scores.bars("4/4", [[sample_scores.chord("A", "minor")]] * 4)
    part = Part(role=PartRole.LEAD, name="Lead", notes=notes)
    file = read(midi_bytes(Score(title="Line", measures=measures, parts=(part,), fifths=0), tempo_bpm))
    assert sounding(file.tracks[1]) == expected(part)
    tempo = next(m.tempo for m in file.tracks[0] if m.type == "set_tempo")
    assert abs(tempo - 60e6 / tempo_bpm) <= 1.0


def full_score():
    """Two meters, sections, chords, three parts and drums."""
    score = sample_scores.few_strings()
    voices = [Voice.GUITAR, Voice.ELECTRIC_PIANO, Voice.BASS]
    notes = score.parts[0].notes
    parts = tuple(
        Part(role=role, name=role.value, notes=notes, voice=voice)
        for role, voice in zip((PartRole.LEAD, PartRole.CHORDS, PartRole.BASS), voices, strict=True)
    )
    hits = tuple(Hit(onset=Fraction(i, 2), drum=drum, velocity=0.5) for i, drum in enumerate(list(Drum)[:14]))
    return Score(title="All", measures=score.measures, parts=parts, fifths=-3, drums=DrumPart(name="drums", hits=hits))


def test_meta_messages():
    """Key, both meters with their ticks, and chords in words."""
    score = full_score()
    conductor = list(absolute(read(midi_bytes(score, 120.0)).tracks[0]))
    assert [m.key for _, m in conductor if m.type == "key_signature"] == ["Eb"]
    meters = [(tick, m.numerator, m.denominator) for tick, m in conductor if m.type == "time_signature"]
    assert meters == [(0, 4, 4), (3840, 3, 4)]
    chords = [(tick, m.text) for tick, m in conductor if m.type == "text"]
    assert chords == [(0, str(score.measures[0].chords[0].chord)), (3840, str(score.measures[1].chords[0].chord))]
    assert conductor[-1][0] == tick_at(score.end)


def test_changes_of_tempo_last_as_long_as_they_are_played():
    """A reader of the file hears the bars when the score is played: half the tempo, slowing down, tempo again."""
    bars = [
        replace(bar, pace=Fraction(pace), slows=slows)
        for bar, (pace, slows) in zip(
            sample_scores.bars("4/4", [[None]] * 4),
            [("1", False), ("1/2", False), ("1", True), ("1", False)],
            strict=True,
        )
    ]
    score = replace(full_score(), measures=tuple(bars), parts=(), drums=None)
    file = read(midi_bytes(score, 120.0))
    assert file.length == pytest.approx(Performance(tempo_bpm=120.0).over(bars).seconds_at(score.end), abs=1e-4)
    tempos = [round(mido.tempo2bpm(m.tempo), 1) for _, m in absolute(file.tracks[0]) if m.type == "set_tempo"]
    assert tempos == [120.0, 60.0, 115.0, 105.0, 95.0, 85.0, 120.0]


def test_sections_are_markers():
    """A section's name stands where it begins."""
    conductor = absolute(read(midi_bytes(sample_scores.motifs(), 120.0)).tracks[0])
    assert [(tick, m.text) for tick, m in conductor if m.type == "marker"] == [(0, "Question"), (7680, "Answer")]


def test_parts_have_their_programs():
    """Each voice its General MIDI program, each part its own channel, never the drums'."""
    tracks = read(midi_bytes(full_score(), 120.0)).tracks[1:4]
    programs = [next(m for m in track if m.type == "program_change") for track in tracks]
    assert [m.program for m in programs] == [27, 4, 33]
    assert len({m.channel for m in programs}) == 3
    assert DRUM_CHANNEL not in {m.channel for m in programs}


def test_drums_are_general_midi():
    """Each stroke on channel 10 with its percussion number and tick."""
    score = full_score()
    notes = sounding(read(midi_bytes(score, 120.0)).tracks[-1])
    hits = [(tick_at(h.onset), PERCUSSION[h.drum], velocity_byte(h.velocity)) for h in score.drums.hits]
    assert [(onset, number, velocity) for onset, _, number, velocity in notes] == hits
    assert {m.channel for m in read(midi_bytes(score, 120.0)).tracks[-1] if not m.is_meta} == {DRUM_CHANNEL}


def test_tables_are_complete():
    """Every voice and drum has its number; percussion lies in the General MIDI level 1 range 35..81."""
    assert set(PROGRAMS) == set(Voice)
    assert all(VOICE_PROGRAMS[voice] == PROGRAMS[Voice(voice)] + 1 for voice in VOICE_PROGRAMS)  # MusicXML: from 1
    assert set(PERCUSSION) == set(Drum)
    assert all(35 <= number <= 81 for number in PERCUSSION.values())


def test_a_pitch_struck_again_ends_first():
    """An overlapped note ends where its pitch is struck again, so no reader loses one."""
    pitch = Pitch.parse("A3")
    notes = (
        Note(onset=Fraction(0), duration=Fraction(3), pitch=pitch),
        Note(onset=Fraction(1), duration=Fraction(1), pitch=pitch),
    )
    measures = sample_scores.bars("4/4", [[None]])
    score = Score(
        title="Again", measures=measures, fifths=0, parts=(Part(role=PartRole.LEAD, name="Lead", notes=notes),)
    )
    assert [n[:2] for n in sounding(read(midi_bytes(score, 100.0)).tracks[1])] == [(0, 960), (960, 1920)]


def test_same_score_same_bytes():
    """Nothing but the score goes into the file."""
    assert midi_bytes(full_score(), 90.0) == midi_bytes(full_score(), 90.0)


def test_too_many_parts_are_refused():
    """Sixteen channels, one for the drums."""
    score = full_score()
    with pytest.raises(ValueError, match="15"):
        midi_bytes(Score(title="Many", measures=score.measures, parts=score.parts * 6, fifths=0), 100.0)


def test_meter_text():
    """The sample's meters are what the test above assumes."""
    assert [m.meter for m in full_score().measures] == [Meter(4, 4), Meter(3, 4)]


# --- touches


def touched_line():
    """A hammer-on, a slide of four frets, a bend of a whole tone, a palm mute and a dead note, a beat each."""
    marks = [
        (3, 5, PLAIN),
        (3, 7, Touch(start=Start.HAMMERED)),
        (3, 11, Touch(start=Start.SLID)),
        (2, 8, Touch(start=Start.BENT, bend=Bend(semitones=2, arrives=Fraction(1, 2)))),
        (5, 5, Touch(damping=Damping.PALM)),
        (5, 5, Touch(damping=Damping.DEAD)),
        (2, 8, Touch(vibrato=True)),
    ]
    names = {60: "C4", 62: "D4", 66: "F#4", 69: "A4", 50: "D3", 67: "G4"}
    notes = []
    for index, (string, fret, touch) in enumerate(marks):
        midi = sample_scores.GUITAR.midi_at(StringFret(string, fret)) + (touch.bend.semitones if touch.bend else 0)
        notes.append(
            Note(
                onset=Fraction(index),
                duration=Fraction(1),
                pitch=Pitch.parse(names[midi]),
                place=StringFret(string, fret),
                touch=touch,
            )
        )
    part = Part(role=PartRole.LEAD, name="Lead", notes=tuple(notes), instrument=sample_scores.GUITAR)
    measures = sample_scores.bars("4/4", [[None]] * 2)
    return Score(title="Touched", measures=measures, parts=(part,), fifths=0)


def wheel_at(track, tick):
    """Where the pitch wheel stands after all that happens up to a tick, in cents."""
    places = [message.pitch for at, message in absolute(track) if message.type == "pitchwheel" and at <= tick]
    return 0.0 if not places else places[-1] * 200.0 / 8192


def test_the_wheel_bends_slides_and_shakes():
    """Two semitones are asked for by parameter 0; bends and slides come from below; all ends in the middle."""
    track = read(midi_bytes(touched_line(), 60.0)).tracks[1]
    controls = [(m.control, m.value) for m in track if m.type == "control_change"]
    assert controls == [(101, 0), (100, 0), (6, 2), (38, 0), (101, 127), (100, 127)]
    beat = TICKS_PER_QUARTER
    assert [wheel_at(track, at * beat) for at in (0, 1, 2, 3, 4, 5)] == [0.0, 0.0, -200.0, -200.0, 0.0, 0.0]
    assert wheel_at(track, 2.2 * beat) == 0.0
    assert wheel_at(track, 3.25 * beat) == pytest.approx(-100.0, abs=6.0)
    assert wheel_at(track, 3.5 * beat) == 0.0
    shaken = [wheel_at(track, (6 + i / 48) * beat) for i in range(48)]
    assert max(shaken[:9]) == 0.0
    assert 20.0 < max(shaken) <= 36.0
    assert min(shaken) >= 0.0
    assert wheel_at(track, 8 * beat) == 0.0


def test_the_wheel_moves_before_the_note_begins():
    """Where note and wheel share a tick, the wheel comes first, so no reader hears the written pitch jump."""
    order = [message.type for at, message in absolute(read(midi_bytes(touched_line(), 60.0)).tracks[1]) if at == 2880]
    assert order.index("pitchwheel") < order.index("note_on")


def test_lengths_say_what_the_hands_do():
    """Legato overlaps, a palm mute lasts half as long, a dead note is a click; onsets and pitches stay."""
    notes = sounding(read(midi_bytes(touched_line(), 60.0)).tracks[1])
    assert [(onset, pitch) for onset, _, pitch, _ in notes] == [
        (index * TICKS_PER_QUARTER, note.pitch.midi) for index, note in enumerate(touched_line().parts[0].notes)
    ]
    assert [end - onset for onset, end, _, _ in notes] == [980, 980, 960, 960, 480, 120, 960]


def test_plain_parts_leave_the_wheel_alone():
    """Nothing about pitch bend in a file that needs none."""
    for track in read(midi_bytes(full_score(), 90.0)).tracks:
        assert not [message for message in track if message.type in ("pitchwheel", "control_change")]

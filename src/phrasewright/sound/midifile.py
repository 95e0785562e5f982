"""A score as a Standard MIDI File of type 1, as written: swing is performance and stays out.

960 ticks per quarter note hold every binary, triplet and quintuplet value exactly; other values are rounded to the
nearest tick (0.26 ms at 120 bpm at most). Track 1 carries tempo, meters, key, sections (markers) and chords (text);
then one track per part with a General MIDI program and, where A4 is not 440 Hz, its tuning, drums on channel 10. Bends
and the like: ``midi_touches``. A note that still sounds when its pitch is struck again in the same part ends there.
Program and percussion numbers: General MIDI level 1.
"""

from __future__ import annotations

import io
from fractions import Fraction
from typing import TYPE_CHECKING

import mido

from phrasewright.score.model import Drum, DrumPart, Note, Part, Score
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import Performance
from phrasewright.sound.midi_touches import sounding_notes, wheel_places, wheel_range
from phrasewright.sound.midi_tuning import tuning_controls
from phrasewright.sound.voices import Voice
from phrasewright.units import A4_HZ

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

TICKS_PER_QUARTER = 960
DRUM_CHANNEL = 9  # counted from 0
PROGRAMS = {  # counted from 0
    Voice.GUITAR: 27, Voice.RHYTHM_GUITAR: 27, Voice.MUTED_GUITAR: 28, Voice.ACOUSTIC_GUITAR: 25,
    Voice.NYLON_GUITAR: 24, Voice.DRIVEN_GUITAR: 29, Voice.BASS: 33, Voice.ELECTRIC_PIANO: 4, Voice.ORGAN: 16,
}  # fmt: skip
PERCUSSION = {
    Drum.KICK: 36, Drum.SNARE: 38, Drum.GHOST: 38, Drum.SIDE_STICK: 37, Drum.CLOSED_HAT: 42, Drum.PEDAL_HAT: 44,
    Drum.OPEN_HAT: 46, Drum.RIDE: 51, Drum.RIDE_BELL: 53, Drum.CRASH: 49, Drum.HIGH_TOM: 50, Drum.MID_TOM: 47,
    Drum.LOW_TOM: 43, Drum.SHAKER: 70, Drum.CLICK: 76,
}  # fmt: skip
HIT_TICKS = TICKS_PER_QUARTER // 8
_MAJOR_KEYS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")

_Timed = tuple[int, int, mido.Message | mido.MetaMessage]  # tick, order within the tick, message


def midi_bytes(score: Score, tempo_bpm: float, *, a4_hz: float = A4_HZ) -> bytes:
    """The file's bytes. tempo_bpm: quarter notes per minute; a4_hz: concert pitch.

    Raises ValueError for more than 15 pitched parts.
    """
    channels = [channel for channel in range(16) if channel != DRUM_CHANNEL]
    if len(score.parts) > len(channels):
        raise ValueError(f"a MIDI file holds {len(channels)} pitched parts, got {len(score.parts)}")
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset="utf-8")
    end = tick_at(score.end)
    as_written = Performance(tempo_bpm=tempo_bpm).over(score.measures)
    file.tracks.append(_track(score.title, _conductor(score, tempo_bpm), end))
    for part, channel in zip(score.parts, channels, strict=False):
        file.tracks.append(_track(part.name, _pitched(part, channel, as_written, a4_hz), end))
    if score.drums is not None:
        file.tracks.append(_track(score.drums.name, _percussion(score.drums), end))
    target = io.BytesIO()
    file.save(file=target)
    return target.getvalue()


def tick_at(time: Fraction) -> int:
    """Nearest tick of a written time in quarter notes."""
    return round(time * TICKS_PER_QUARTER)


def velocity_byte(velocity: float) -> int:
    """MIDI velocity 1..127 of a velocity in (0, 1]."""
    return max(1, round(velocity * 127))


def _conductor(score: Score, tempo_bpm: float) -> Iterator[_Timed]:
    pace = pace_of(score.measures)
    for written in [moment for moment, _ in pace.moments[:-1]] or [Fraction(0)]:
        tempo = mido.bpm2tempo(tempo_bpm / pace.rate_at(float(written)))
        yield tick_at(written), 0, mido.MetaMessage("set_tempo", tempo=tempo)
    if -7 <= score.fifths <= 7:
        yield 0, 0, mido.MetaMessage("key_signature", key=_MAJOR_KEYS[score.fifths + 7])
    meter = None
    for measure in score.measures:
        tick = tick_at(measure.onset)
        if measure.meter != meter:
            meter = measure.meter
            yield tick, 0, mido.MetaMessage("time_signature", numerator=meter.upper, denominator=meter.lower)
        if measure.section:
            yield tick, 1, mido.MetaMessage("marker", text=measure.section)
        for span in measure.chords:
            yield tick_at(span.onset), 2, mido.MetaMessage("text", text=str(span.chord) if span.chord else "N.C.")


def _pitched(part: Part, channel: int, as_written: Performance, a4_hz: float) -> Iterator[_Timed]:
    program = PROGRAMS[Voice(part.voice)]
    yield 0, 0, mido.Message("program_change", channel=channel, program=program)
    for control, value in tuning_controls(a4_hz) if a4_hz != A4_HZ else ():
        yield 0, 0, mido.Message("control_change", channel=channel, control=control, value=value)
    yield from ((0, 0, message) for message in wheel_range(part, channel))
    for time, place in wheel_places(part, as_written):
        yield tick_at(time), 1, mido.Message("pitchwheel", channel=channel, pitch=place)
    for note, end in _with_ends(sounding_notes(part)):
        pitch = note.pitch.midi
        yield tick_at(note.onset), 2, _on(channel, pitch, note.velocity)
        yield tick_at(end), 1, mido.Message("note_off", channel=channel, note=pitch, velocity=64)


def _with_ends(notes: tuple[Note, ...]) -> Iterator[tuple[Note, Fraction]]:
    """Each note with where it ends: no later than the next onset of the same pitch."""
    following: dict[int, Fraction] = {}
    ends: list[Fraction] = []
    for note in reversed(notes):
        pitch = note.pitch.midi
        next_onset = following.get(pitch)
        cut = next_onset is not None and note.onset < next_onset < note.end
        ends.append(next_onset if cut and next_onset is not None else note.end)
        following[pitch] = note.onset
    yield from zip(notes, reversed(ends), strict=True)


def _percussion(drums: DrumPart) -> Iterator[_Timed]:
    for hit in drums.hits:
        number, tick = PERCUSSION[hit.drum], tick_at(hit.onset)
        yield tick, 2, _on(DRUM_CHANNEL, number, hit.velocity)
        yield tick + HIT_TICKS, 1, mido.Message("note_off", channel=DRUM_CHANNEL, note=number, velocity=64)


def _on(channel: int, number: int, velocity: float) -> mido.Message:
    return mido.Message("note_on", channel=channel, note=number, velocity=velocity_byte(velocity))


def _track(name: str, messages: Iterable[_Timed], end: int) -> mido.MidiTrack:
    """Absolute ticks to the differences a file stores; the track lasts at least to ``end``."""
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name, time=0)])
    now = 0
    for tick, _, message in sorted(messages, key=lambda timed: timed[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=max(end - now, 0)))
    return track

"""Touches in a MIDI part: pitch bend for bends, slides and vibrato, lengths for the rest.

The pitch wheel spans two semitones either way, and is told so (registered parameter 0, General MIDI level 1's own
range); a note's number is the pitch it arrives at, so a bend begins with the wheel down. A slide from further than two
semitones begins two away. A string that sounds on overlaps into the next note, as is usual for legato; a palm mute
lasts half its length, a dead note an eighth of a quarter note. The wheel is back in the middle where a note ends.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import mido
import numpy as np

from phrasewright.score.model import Note, Part
from phrasewright.score.performance import Performance
from phrasewright.score.technique import Damping
from phrasewright.score.touch_rules import handed_on
from phrasewright.sound.events import TimedNote, timed_notes
from phrasewright.sound.gesture import cents_at

WHEEL_SEMITONES = 2
WHEEL_STEP = Fraction(1, 48)  # quarter note between two places of the wheel
OVERLAP = Fraction(1, 48)
DEAD_LENGTH = Fraction(1, 8)
_LOWEST, _HIGHEST = -8192, 8191
_RANGE = ((101, 0), (100, 0), (6, WHEEL_SEMITONES), (38, 0), (101, 127), (100, 127))  # and the parameter closed again


def sounding_notes(part: Part) -> tuple[Note, ...]:
    """The notes with the lengths that a MIDI file gives them."""
    passed = handed_on(part.notes)
    return tuple(replace(note, duration=_length(note, index in passed)) for index, note in enumerate(part.notes))


def _length(note: Note, goes_on: bool) -> Fraction:
    if goes_on:
        return note.duration + OVERLAP
    if note.touch.damping is Damping.PALM:
        return note.duration / 2
    return min(note.duration, DEAD_LENGTH) if note.touch.damping is Damping.DEAD else note.duration


def wheel_range(part: Part, channel: int) -> Iterator[mido.Message]:
    """What tells a player the wheel's span; nothing for a part that never moves it."""
    if any(note.touch.techniques for note in part.notes):
        for control, value in _RANGE:
            yield mido.Message("control_change", channel=channel, control=control, value=value)


def wheel_places(part: Part, performance: Performance) -> Iterator[tuple[Fraction, int]]:
    """(time in quarter notes, place of the wheel) wherever it changes, by time. performance: straight, as written."""
    places: dict[Fraction, int] = {}
    timed = timed_notes(part, performance)
    for note, sound in zip(part.notes, timed, strict=True):
        if not sound.gesture.is_steady:
            places.update(_places(note, sound, performance))
    changes = [(None, 0), *sorted(places.items())]
    yield from ((at, value) for (_, before), (at, value) in pairwise(changes) if at is not None and value != before)


def _places(note: Note, sound: TimedNote, performance: Performance) -> Iterator[tuple[Fraction, int]]:
    steps = range(int(note.duration / WHEEL_STEP) + 1)
    times = [step * WHEEL_STEP for step in steps]
    time_s = np.array([performance.seconds_at(note.onset + time) for time in times]) - sound.onset_s
    for time, place in zip(times, _wheel(cents_at(sound.gesture, time_s)), strict=True):
        if time < note.duration:
            yield note.onset + time, place
    yield note.end, 0


def _wheel(cents: np.ndarray) -> Sequence[int]:
    """Places of the wheel, -8192..8191, for offsets in cents."""
    places = np.round(cents / (100.0 * WHEEL_SEMITONES) * -_LOWEST)
    return [int(place) for place in np.clip(places, _LOWEST, _HIGHEST)]

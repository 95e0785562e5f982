"""A take as one line of pitches: whole semitones, times, and where its phrases begin.

Pitches are rounded after the tuning of the take is taken out; dead notes are left out, since they have none. A phrase
begins after a silence that breaks a line: half a second at least, and one and a half times the usual time from note
to note, so that staccato quarters at a slow tempo stay together. Common practice in segmenting solos puts it near there
(Cambouropoulos 2001 finds boundaries at long rests and long steps in time); the two numbers are set by ear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import PlacedNote
from phrasewright.units import CENTS_PER_SEMITONE

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

BREAK_S = 0.5  # shortest silence that ends a phrase
BREAK_STEPS = 1.5  # and in usual steps from note to note
LONG_STEP = 1.8  # a step in time this many times the usual one sets a run apart


def rounded_midi(note: HeardNote, tuning_cents: float) -> int:
    """The nearest semitone of a note, on an instrument tuned so many cents from A4 = 440 Hz."""
    return round(note.pitch_midi - tuning_cents / CENTS_PER_SEMITONE)


@dataclass(frozen=True, kw_only=True, eq=False)
class Line:
    """n notes with a pitch, arrays of length n by onset. index: of each among the notes of the take."""

    index: Ints
    pitch_midi: Ints
    onset_s: Floats
    offset_s: Floats

    def __len__(self) -> int:
        return len(self.index)

    @cached_property
    def steps_s(self) -> Floats:
        """From each note to the next, n - 1 values (none for an empty line)."""
        return np.diff(self.onset_s)

    @cached_property
    def usual_step_s(self) -> float:
        """The middle of the times from note to note, 0 for a line without two notes."""
        return float(np.median(self.steps_s)) if len(self) > 1 else 0.0

    @cached_property
    def begins_phrase(self) -> Bools:
        """Whether a phrase begins with each note."""
        ends_s = np.maximum.accumulate(self.offset_s)[:-1]
        silence_s = self.onset_s[1:] - ends_s
        broken = silence_s >= max(BREAK_S, BREAK_STEPS * self.usual_step_s)
        return np.concatenate([np.ones(min(len(self), 1), dtype=bool), broken])

    @cached_property
    def ends_phrase(self) -> Bools:
        """Whether a phrase ends with each note."""
        return np.append(self.begins_phrase[1:], True) if len(self) else self.begins_phrase

    @cached_property
    def phrase(self) -> Ints:
        """The number of the phrase that each note is in, from 1."""
        return np.cumsum(self.begins_phrase)

    def within_phrase(self, length: int) -> Bools:
        """Whether so many notes from each on are in one phrase, for every note that has so many from it on."""
        last = len(self) - length + 1
        if last <= 0:
            return np.zeros(0, dtype=bool)
        return np.asarray(self.phrase[:last] == self.phrase[length - 1 :])

    def windows(self, length: int) -> Ints:
        """The pitches of so many notes from each on, one row each."""
        if len(self) < length:
            return np.zeros((0, length), dtype=np.int64)
        return np.lib.stride_tricks.sliding_window_view(self.pitch_midi, length)


def line_of(notes: Sequence[PlacedNote], tuning_cents: float = 0.0) -> Line:
    """The line that the notes of a take make. notes: by onset; tuning_cents: of the take."""
    return heard_line([placed.note for placed in notes], tuning_cents)


def heard_line(notes: Sequence[HeardNote], tuning_cents: float = 0.0) -> Line:
    """The same of notes that have no place in bars."""
    sounding = [(index, note) for index, note in enumerate(notes) if not note.is_dead]
    return Line(
        index=np.array([index for index, _ in sounding], dtype=np.int64),
        pitch_midi=np.array([rounded_midi(note, tuning_cents) for _, note in sounding], dtype=np.int64),
        onset_s=np.array([note.onset_s for _, note in sounding], dtype=np.float64),
        offset_s=np.array([note.offset_s for _, note in sounding], dtype=np.float64),
    )

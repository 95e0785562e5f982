"""Notes that a finger slid to: they sound, but nothing struck them, so the network hears no onset.

A glide over some frets belongs to no semitone for up to an eighth of a second (common practice; the strings of
``docs/sound.md`` slide so); the note left ends there, and then another semitone sounds. Where one does, clearly, long
enough, beside nothing else and soon after a note within reach of a slide, that note went on to it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.hear.decode import DecodedNote
from phrasewright.listen.hear.spectrum import FRAME_S, LOWEST_ROW_MIDI

if TYPE_CHECKING:
    from phrasewright.listen.hear.ear import Answers

CLEAR = 0.6  # how sure the network is that it sounds
LEAST_FRAMES = 5
BESIDE_FRAMES = 2  # so near a note's ends what sounds is that note
LONGEST_GLIDE_S = 0.16
SLIDE_SEMITONES = range(2, 13)


def with_slid(notes: Sequence[DecodedNote], answers: Answers) -> tuple[DecodedNote, ...]:
    """The notes and those slid to from them, by onset. A slid note begins where the one before it ends."""
    slid = _slid(sorted(notes, key=lambda note: note.offset_s), answers)
    return tuple(sorted((*notes, *slid), key=lambda note: (note.onset_s, note.row)))


def _slid(by_offset: Sequence[DecodedNote], answers: Answers) -> Iterator[DecodedNote]:
    ends_s = [note.offset_s for note in by_offset]
    for first, last, row in _unclaimed(by_offset, answers):
        before = bisect_right(ends_s, first * FRAME_S) - 1
        if before < 0 or first * FRAME_S - ends_s[before] > LONGEST_GLIDE_S:
            continue
        midi = LOWEST_ROW_MIDI + row
        if abs(midi - by_offset[before].row) in SLIDE_SEMITONES:
            yield DecodedNote(
                onset_s=ends_s[before],
                offset_s=last * FRAME_S,
                row=midi,
                rows=frozenset({midi}),
                begins=float(answers.sounds[first:last, row].max()),
                sounds=float(answers.sounds[first:last, row].mean()),
                soft=1.0,
            )


def _unclaimed(notes: Sequence[DecodedNote], answers: Answers) -> Iterator[tuple[int, int, int]]:
    """(first frame, frame after the last, row) of every stretch that sounds clearly outside all notes."""
    free = np.ones(len(answers.sounds), dtype=bool)
    for note in notes:
        first, last = round(note.onset_s / FRAME_S), round(note.offset_s / FRAME_S)
        free[max(first - BESIDE_FRAMES, 0) : last + BESIDE_FRAMES] = False
    loudest = answers.sounds.argmax(axis=1)
    clear = free & (answers.sounds.max(axis=1) >= CLEAR)
    rows = np.where(clear, loudest, -1).tolist()
    at = 0
    for row, stretch in groupby(rows):
        length = sum(1 for _ in stretch)
        if row >= 0 and length >= LEAST_FRAMES:
            yield at, at + length, row
        at += length

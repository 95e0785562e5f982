"""How sure the hearing is: of every note, and of the take as a whole.

A note's confidence is the odds that somebody played it: a logistic regression on what the network says of its onset and
of its sounding on, fitted on 6,149 notes of 260 freshly made, heavily spoiled takes (``tools/listener/calibrate.py``;
of the notes given 98 per cent or more, 99.8 per cent were right there). Whether a take is a line on a guitar at all is
told by how much of what sounds the notes account for (speech: under a tenth; guitars under a band 12 dB softer: three
quarters or more), and by how many pitches sound at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.hear.spectrum import FRAME_S, frame_power

if TYPE_CHECKING:
    from phrasewright.listen.hear.decode import DecodedNote
    from phrasewright.listen.hear.ear import Answers, FloatArray

WEIGHTS = (-6.76, 8.82, 3.23)  # bias, onset, sounding on
SILENT_DB = -60.0  # peak
LOUD_DB = -25.0  # against the loudest moment: what counts as sounding
RING_FRAMES = 4  # that a note goes on for after its end
NOT_A_GUITAR, HARDLY_A_GUITAR = 0.2, 0.45  # share of what sounds that the notes account for
CROWDED, CHORDS = 2.2, 0.25  # pitches at once, and the share of the time they are, from which a take is chords
UNSURE = 0.85  # mean confidence


def confidence(note: DecodedNote) -> float:
    """The odds, 0..1, that a note was played."""
    bias, onset, sounding = WEIGHTS
    return float(1.0 / (1.0 + np.exp(-(bias + onset * note.begins + sounding * note.sounds))))


def share_accounted_for(notes: Sequence[DecodedNote], audio: FloatArray) -> float:
    """How much of what sounds in a take its notes account for, 0..1; 0 for silence."""
    power = frame_power(audio)
    loud = power > max(float(power.max(initial=0.0)) * 10.0 ** (LOUD_DB / 10.0), 1e-12)
    ours = np.zeros(len(power), dtype=bool)
    for note in notes:
        ours[int(note.onset_s / FRAME_S) : int(note.offset_s / FRAME_S) + RING_FRAMES] = True
    return float(ours[loud].mean()) if loud.any() else 0.0


def is_line(notes: Sequence[DecodedNote], answers: Answers, audio: FloatArray) -> bool:
    """False for chords, and where much that sounds is no guitar: then how it was played is not to be judged."""
    return share_accounted_for(notes, audio) >= HARDLY_A_GUITAR and _share_of_chords(answers) <= CHORDS


def remarks_on(notes: Sequence[DecodedNote], answers: Answers, audio: FloatArray) -> tuple[str, ...]:
    """What the player should know about a take, in sentences."""
    return tuple(_remarks(notes, answers, audio))


def _remarks(notes: Sequence[DecodedNote], answers: Answers, audio: FloatArray) -> Iterator[str]:
    if is_silent(audio):
        yield "The take is silent: check the microphone, and its level."
    elif not notes:
        yield "No guitar was heard in this take."
    else:
        if share_accounted_for(notes, audio) < HARDLY_A_GUITAR:
            yield "Much of what sounds in this take is no guitar line, so how it was played is not judged."
        elif float(np.mean([confidence(note) for note in notes])) < UNSURE:
            yield "Parts of this take are unclear, so take what follows with care; recording closer would help."
        if _share_of_chords(answers) > CHORDS:
            yield "This sounds like chords. They are heard only in part, so how they were played is not judged."


def is_silent(audio: FloatArray) -> bool:
    """True when nothing in it is loud enough to be heard."""
    return not len(audio) or float(np.abs(audio).max()) < 10.0 ** (SILENT_DB / 20.0)


def _share_of_chords(answers: Answers) -> float:
    """Share of the time, out of that in which a note sounds, in which several do."""
    sounding = answers.sounds.max(axis=1) > 0.5
    return float((answers.sounds[sounding].sum(axis=1) > CROWDED).mean()) if sounding.any() else 0.0

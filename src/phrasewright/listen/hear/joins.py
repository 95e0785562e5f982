"""Notes that flow into each other without a stroke, told by their pitch alone.

A finger that comes down on a sounding string, leaves it or moves by a fret changes the pitch at once; a bend needs
eight hundredths of a second or more (common practice). So where the pitch of one note rests, then within two steps of
its curve rests elsewhere, a new note began there, though the network heard no onset.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.hear.pitch_curve import settled_cents
from phrasewright.listen.heard import CURVE_STEP_S

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from phrasewright.listen.hear.decode import DecodedNote
    from phrasewright.listen.hear.pitch_curve import PitchCurve

    FloatArray = NDArray[np.float64]

LEAST_CENTS, MOST_CENTS = 70.0, 550.0
RESTS, SETTLES = 4, 6  # steps of the curve: it rests so long before, so long after
AT_REST_CENTS = 18.0  # it moves no more than that then
OFF_SEMITONES, LEAST_SHARE = 0.9, 0.3  # farther off is another note; share of a curve that must be its own
JUMP = 2  # steps of the jump itself
RINGS_S = 0.1  # a note may ring on for so long after its end
OWN_SEMITONES = 0.7  # a note leaves its own pitch: what rings on from the note before is no part of it


def split_joined(notes: Sequence[DecodedNote], curves: Sequence[PitchCurve]) -> tuple[DecodedNote, ...]:
    """The notes, those whose pitch jumps cut in two or more; by onset."""
    parts = (part for note, curve in zip(notes, curves, strict=True) for part in _parts(note, curve, notes))
    return tuple(sorted(parts, key=lambda note: (note.onset_s, note.row)))


def _parts(note: DecodedNote, curve: PitchCurve, notes: Sequence[DecodedNote]) -> Iterator[DecodedNote]:
    whole_s = note.onset_s
    for step in jumps(curve.cents):
        at_s, row = whole_s + step * CURVE_STEP_S, round(float(curve.midi[step + JUMP]))
        if abs(float(curve.midi[step - 1]) - note.row) > OWN_SEMITONES or _sounds(notes, row, at_s):
            continue
        yield replace(note, offset_s=at_s)
        note = replace(note, onset_s=at_s, row=row, rows=frozenset({row}), soft=1.0)
    yield note


def _sounds(notes: Sequence[DecodedNote], row: int, at_s: float) -> bool:
    """Whether another note of that pitch rings there: then the pitch did not jump, it was mistaken."""
    return any(note.row == row and note.onset_s < at_s < note.offset_s + RINGS_S for note in notes)


def jumps(cents: FloatArray) -> list[int]:
    """The steps of a curve at which its pitch jumps, in order."""
    found: list[int] = []
    step = RESTS
    while step + JUMP + SETTLES <= len(cents):
        before, after = cents[step - RESTS : step], cents[step + JUMP : step + JUMP + SETTLES]
        if _rests(before) and _rests(after) and LEAST_CENTS <= abs(after.mean() - before.mean()) <= MOST_CENTS:
            found.append(step)
            step += JUMP + SETTLES
        else:
            step += 1
    return found


def _rests(cents: FloatArray) -> bool:
    return bool(np.isfinite(cents).all()) and float(np.ptp(cents)) <= AT_REST_CENTS


def anchored(curve: PitchCurve, rows: frozenset[int]) -> PitchCurve:
    """The curve without what lies off all semitones that the note goes through; they tell its pitch if little is left.

    Beside other sounding notes, and in a room, the fine pitch now and then takes hold of another note.
    """
    away = np.abs(curve.midi[:, None] - np.array(sorted(rows))).min(axis=1)
    ours = away <= OFF_SEMITONES
    if ours.sum() == np.isfinite(curve.cents).sum():
        return curve
    midi = np.where(ours, curve.midi, np.nan)
    if ours.mean() >= LEAST_SHARE:
        pitch_midi = curve.pitch_midi + settled_cents(midi[ours] * 100.0 - curve.pitch_midi * 100.0) / 100.0
    else:
        pitch_midi = float(min(rows, key=lambda row: abs(row - curve.pitch_midi)))
    return replace(curve, pitch_midi=pitch_midi, cents=(midi - pitch_midi) * 100.0)

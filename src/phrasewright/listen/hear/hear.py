"""From the sound of a take to what was heard in it: the one way through the network, pitch, technique and tuning."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.hear.attack import Attack, attacks_of
from phrasewright.listen.hear.decode import DecodedNote, dead_strokes, decode
from phrasewright.listen.hear.ear import answers
from phrasewright.listen.hear.joins import anchored, split_joined
from phrasewright.listen.hear.marks import Before, marks_of
from phrasewright.listen.hear.pitch_curve import PitchCurve, RoughNote, note_curves
from phrasewright.listen.hear.slid import with_slid
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.hear.tuning import tuning_of
from phrasewright.listen.hear.verdict import NOT_A_GUITAR, confidence, is_line, remarks_on, share_accounted_for
from phrasewright.listen.heard import HeardNote, HeardTechnique, Hearing, Mark

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

DEAD_S, DEAD_APART_S = 0.06, 0.05  # how long a dead stroke counts, and how far from any other onset it lies
CURVE_DECIMALS = 1


def hear(audio: FloatArray) -> Hearing:
    """What is heard in a take. audio: float32 (n,), one channel at ``RATE_HZ``."""
    told = answers(audio)
    decoded: Sequence[DecodedNote] = with_slid(decode(told), told)
    if share_accounted_for(decoded, audio) < NOT_A_GUITAR:
        decoded = ()
    decoded, found = _with_curves(audio, decoded)
    curves = [anchored(curve, note.rows) for note, curve in zip(decoded, found, strict=True)]
    attacks = attacks_of(audio, [note.onset_s for note in decoded]) if decoded else ()
    played = tuple(_notes(decoded, curves, found, attacks))
    dead = _dead_notes(dead_strokes(told), played, audio) if played else ()
    notes = tuple(sorted((*played, *dead), key=lambda note: note.onset_s))
    tuning = tuning_of(notes)
    return Hearing(
        notes=notes,
        length_s=len(audio) / RATE_HZ,
        tuning_cents=None if tuning is None else tuning.cents,
        remarks=remarks_on(decoded, told, audio),
        is_line=is_line(decoded, told, audio),
    )


def _with_curves(
    audio: FloatArray, decoded: Sequence[DecodedNote]
) -> tuple[Sequence[DecodedNote], Sequence[PitchCurve]]:
    """The notes, cut where their pitch jumps, and the pitch of each."""
    curves = note_curves(audio, _rough(decoded))
    cut = split_joined(decoded, curves)
    return (decoded, curves) if len(cut) == len(decoded) else (cut, note_curves(audio, _rough(cut)))


def _rough(decoded: Sequence[DecodedNote]) -> list[RoughNote]:
    return [RoughNote(onset_s=note.onset_s, offset_s=note.offset_s, row=note.row) for note in decoded]


def _notes(
    decoded: Sequence[DecodedNote],
    curves: Sequence[PitchCurve],
    glides: Sequence[PitchCurve],
    attacks: Sequence[Attack],
) -> Iterator[HeardNote]:
    before: Before | None = None
    for note, curve, glide, attack in zip(decoded, curves, glides, attacks, strict=True):
        yield HeardNote(
            onset_s=note.onset_s,
            offset_s=note.offset_s,
            pitch_midi=curve.pitch_midi,
            curve_cents=tuple(np.round(curve.cents, CURVE_DECIMALS).tolist()),
            marks=marks_of(curve, note.onset_s, attack, before, soft=note.soft, glide=glide),
            level_db=curve.level_db,
            confidence=confidence(note),
        )
        before = Before(curve=curve, onset_s=note.onset_s, offset_s=note.offset_s)


def _dead_notes(
    strokes: Sequence[tuple[float, float]], played: Sequence[HeardNote], audio: FloatArray
) -> Iterator[HeardNote]:
    """Strokes on a damped string that no note accounts for; with the pitch of the note beside, for they have none."""
    onsets_s = np.array([note.onset_s for note in played])
    for at_s, odds in strokes:
        if len(onsets_s) and np.abs(onsets_s - at_s).min() < DEAD_APART_S:
            continue
        piece = audio[int(at_s * RATE_HZ) : int((at_s + DEAD_S) * RATE_HZ)]
        level = float(np.sqrt(np.mean(piece**2))) if len(piece) else 0.0
        yield HeardNote(
            onset_s=at_s,
            offset_s=at_s + DEAD_S,
            pitch_midi=min(played, key=lambda note: abs(note.onset_s - at_s)).pitch_midi,
            marks=(Mark(technique=HeardTechnique.DEAD, confidence=odds),),
            level_db=20.0 * float(np.log10(level + 1e-9)),
            confidence=odds,
        )

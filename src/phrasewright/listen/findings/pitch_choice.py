"""Pitch choice: notes outside the scale, the range played, jumps.

A note counts as outside when neither scale nor chord has it and it does not lead by one or two semitones into a note of
the chord. Bends and slides say nothing here: where they come to rest is told elsewhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above, share_above, share_below
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.findings.tell import per_cent, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.heard import HeardTechnique
from phrasewright.melody.fit import APPROACH_SEMITONES

JUMP_SEMITONES = 8
MOSTLY = 0.65  # of the notes outside that are one and the same
FEWEST_OUTSIDE = 4
SPAN_ERROR_SEMITONES = 0.6
EDGES_PERCENT = (5.0, 95.0)
MOVING = (HeardTechnique.BEND, HeardTechnique.SLIDE)


def pitch_choice(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about the pitches played."""
    yield from _outside(playing)
    yield from _span(playing)
    yield from _jumps(playing)


def _outside(playing: Playing) -> Iterator[Finding]:
    told = [at for at, note in enumerate(playing.placed) if not any(note.note.mark(mark) for mark in MOVING)]
    of = len(told)
    if of < THRESHOLDS["outside"].least:
        return
    out = [at for at in told if _is_outside(playing, at)]
    scale = playing.take.scale
    sure = share_above(len(out), of, THRESHOLDS["outside"].limit)
    yield from tell(
        playing,
        "in-scale",
        sure=share_below(len(out), of, THRESHOLDS["in-scale"].limit) if of >= THRESHOLDS["in-scale"].least else 0.0,
        measured=len(out) / of,
        size=1.0 - len(out) / of,
        unit="of the notes",
        said=f"You are at home in {scale.name}.",
        try_next="Play a phrase without looking at your hand: it knows the way.",
    )
    if len(out) < FEWEST_OUTSIDE:
        return
    commonest, times = Counter(playing.pitches[at] % 12 for at in out).most_common(1)[0]
    one = times >= MOSTLY * len(out)
    name = pitch_of(commonest + 60, scale).name.printed
    yield from tell(
        playing,
        "one-outside" if one else "outside",
        sure=sure,
        measured=len(out) / of,
        size=float(times if one else len(out)),
        unit="notes",
        notes=playing.told(out),
        said=f"The note {name} came {times} times; it is not in {scale.name} and not in the chord under it."
        if one
        else f"{len(out)} notes ({per_cent(len(out) / of)} %) lie outside {scale.name} and the chord and lead nowhere.",
        try_next=f"Say the notes of {scale.name} aloud while you play it up and down, twice."
        if not one
        else f"Find {name} on the neck, and the notes of the scale on either side of it: play those instead.",
    )


def _is_outside(playing: Playing, at: int) -> bool:
    pitch, chord = playing.pitches[at], playing.placed[at].chord
    if playing.take.scale.degree_at(pitch) is not None or (chord is not None and pitch % 12 in chord.pitch_classes):
        return False
    if at + 1 == len(playing.placed) or chord is None:
        return True
    after = playing.pitches[at + 1]
    return not (0 < abs(after - pitch) <= APPROACH_SEMITONES and after % 12 in chord.pitch_classes)


def _span(playing: Playing) -> Iterator[Finding]:
    if len(playing.placed) < THRESHOLDS["narrow"].least:
        return
    low, high = np.percentile(playing.line.pitch_midi, EDGES_PERCENT)
    span = float(high - low)
    yield from tell(
        playing,
        "narrow",
        sure=mean_above(THRESHOLDS["narrow"].limit, span, SPAN_ERROR_SEMITONES),
        measured=span,
        size=span,
        unit="semitones",
        said=f"Nearly all your notes lie within {span:.0f} semitones. You know that corner well.",
        try_next="Play your next phrase two strings higher, then come back down.",
    )
    yield from tell(
        playing,
        "wide",
        sure=mean_above(span, THRESHOLDS["wide"].limit, SPAN_ERROR_SEMITONES),
        measured=span,
        size=span,
        unit="semitones",
        said="You use the whole width of the position, low and high.",
        try_next="Keep the top for the last chorus.",
    )


def _jumps(playing: Playing) -> Iterator[Finding]:
    of = len(playing.steps)
    if of < THRESHOLDS["jumpy"].least:
        return
    jumps = [b for a, b in playing.steps if abs(playing.pitches[b] - playing.pitches[a]) >= JUMP_SEMITONES]
    yield from tell(
        playing,
        "jumpy",
        sure=share_above(len(jumps), of, THRESHOLDS["jumpy"].limit),
        measured=len(jumps) / of,
        size=len(jumps) / of,
        unit="of the steps",
        said=f"{per_cent(len(jumps) / of)} % of your steps are jumps of a sixth or more. The line is hard to sing.",
        try_next="Sing a phrase before you play it, and fill one jump with the notes between.",
    )

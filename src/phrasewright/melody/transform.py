"""What can be done to a motif and to a phrase.

Every function returns a new value or ``None``. ``None`` means the result would leave the position, or could not
be spoken as a count; a request that makes no sense at all (a fragment longer than its motif) is a ``ValueError``.
Moves are counted in notes of the position, which are scale steps wherever the position has no gaps.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

from phrasewright.melody.count_words import count_of
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.theory.count import Stroke
from phrasewright.units import SEMITONES_PER_OCTAVE


def sequence(motif: Motif, steps: int) -> Motif | None:
    """The same shape begun ``steps`` notes higher (lower when negative)."""
    return _at(motif, tuple(step + steps for step in motif.steps))


def sequences(motif: Motif) -> tuple[Motif, ...]:
    """Every place of the position where the shape fits, lowest first, itself included."""
    top = len(motif.position.notes)
    places = (sequence(motif, steps) for steps in range(-top, top + 1))
    return tuple(place for place in places if place is not None)


def invert(motif: Motif) -> Motif | None:
    """Turned upside down about its first note: every rise becomes a fall of as many notes."""
    return _at(motif, tuple(2 * motif.steps[0] - step for step in motif.steps))


def retrograde(motif: Motif) -> Motif:
    """Played backwards."""
    return replace(motif, steps=motif.steps[::-1])


def shift_octave(motif: Motif, cycles: int) -> Motif | None:
    """The same pitches ``cycles`` octaves higher (lower when negative), where the position has them all."""
    index_of = {note.pitch.midi: index for index, note in enumerate(motif.position.notes)}
    wanted = [note.pitch.midi + SEMITONES_PER_OCTAVE * cycles for note in motif.notes]
    if any(pitch_midi not in index_of for pitch_midi in wanted):
        return None
    return replace(motif, steps=tuple(index_of[pitch_midi] for pitch_midi in wanted))


def fragment(motif: Motif, start: int, length: int) -> Motif:
    """``length`` notes of the motif from its note ``start`` (0 = first). Raises ValueError outside the motif."""
    if start < 0 or length < MIN_NOTES or start + length > len(motif.steps):
        raise ValueError(f"no fragment of {length} notes from note {start} in a motif of {len(motif.steps)}")
    return replace(motif, steps=motif.steps[start : start + length])


def fragments(motif: Motif) -> tuple[Motif, ...]:
    """Every shorter piece of the motif, longest first, then from the front."""
    size = len(motif.steps)
    return tuple(
        fragment(motif, start, length)
        for length in range(size - 1, MIN_NOTES - 1, -1)
        for start in range(size - length + 1)
    )


def extend(motif: Motif, moves: tuple[int, ...]) -> Motif | None:
    """The motif carried on by ``moves`` (notes up or down from its last). Raises ValueError past five notes."""
    if len(motif.steps) + len(moves) > MAX_NOTES:
        raise ValueError(f"a motif has at most {MAX_NOTES} notes, {len(motif.steps)} + {len(moves)} is too long")
    steps = list(motif.steps)
    for move in moves:
        steps.append(steps[-1] + move)
    return _at(motif, tuple(steps))


def displace(phrase: Phrase, by: Fraction) -> Phrase | None:
    """The phrase begun ``by`` quarter notes later in its bar (earlier when negative); rest bars give way."""
    return _retimed(phrase, [(stroke.onset + by, stroke.duration) for stroke in phrase.count.strokes])


def augment(phrase: Phrase) -> Phrase | None:
    """Half as fast: every onset and length doubled."""
    return _scaled(phrase, Fraction(2))


def diminish(phrase: Phrase) -> Phrase | None:
    """Twice as fast: every onset and length halved."""
    return _scaled(phrase, Fraction(1, 2))


def _at(motif: Motif, steps: tuple[int, ...]) -> Motif | None:
    inside = all(0 <= step < len(motif.position.notes) for step in steps)
    return replace(motif, steps=steps) if inside else None


def _scaled(phrase: Phrase, factor: Fraction) -> Phrase | None:
    return _retimed(phrase, [_scale(stroke, factor) for stroke in phrase.count.strokes])


def _scale(stroke: Stroke, factor: Fraction) -> tuple[Fraction, Fraction]:
    return stroke.onset * factor, stroke.duration * factor


def _retimed(phrase: Phrase, strokes: list[tuple[Fraction, Fraction]]) -> Phrase | None:
    """The phrase on other strokes; it keeps its length in bars where it can."""
    end = max(onset + duration for onset, duration in strokes)
    bars = max(1, ceil(end / phrase.count.meter.bar))
    count = count_of(strokes, phrase.count.meter, bars)
    if count is None:
        return None
    return replace(phrase, count=count, rest_bars=max(0, phrase.bars - bars))

"""How one phrase leads to the next.

Interval surprise after Temperley, *Music and Probability* (MIT Press 2007), chapter 4: the chance of the next
pitch is proportional to a normal range term around the centre of the line, times a normal proximity term around
the previous pitch, times a profile of pitch classes; renormalised over all pitches. Variances 29.0 (range) and
7.2 (proximity) are those of the book's own program; his 2008 paper prints others (docs/sources.md 3.3).

``reversal`` is the pitch-reversal factor of Schellenberg (1997), *Music Perception* 14:295-318. It counts half in a
join, because the range term already causes most turns after a leap (von Hippel and Huron 2000).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log2

from phrasewright.neck.place import Position

FLAT_PROFILE = (1 / 12,) * 12  # joins: the pitch classes are weighed by the fit already
ESSEN_MAJOR = (0.184, 0.001, 0.155, 0.003, 0.191, 0.109, 0.005, 0.214, 0.001, 0.078, 0.004, 0.055)
REVERSAL_WEIGHT = 0.5
LEAP_SEMITONES = 6
RETURN_SEMITONES = 2
_PITCHES_MIDI = range(128)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineModel:
    """Temperley's melody model. centre_midi: middle of the line; variances in squared semitones; profile over C."""

    centre_midi: float = 68.0
    range_variance: float = 29.0
    proximity_variance: float = 7.2  # 10.5 measured within phrases of jazz solos (docs/sources.md 3.3)
    profile: tuple[float, ...] = FLAT_PROFILE


def line_in(position: Position) -> LineModel:
    """The model of lines in a position, centred on its notes."""
    pitches_midi = [note.pitch.midi for note in position.notes]
    return LineModel(centre_midi=sum(pitches_midi) / len(pitches_midi))


def next_pitch_probability(pitch_midi: int, previous_midi: int, model: LineModel) -> float:
    """Chance that ``pitch_midi`` follows ``previous_midi``, 0..1."""
    return _weight(pitch_midi, previous_midi, model) / _total(previous_midi, model)


def surprise_bits(pitch_midi: int, previous_midi: int, model: LineModel) -> float:
    """-log2 of that chance: about 2 for a step, 6 and more for a leap."""
    return -log2(max(next_pitch_probability(pitch_midi, previous_midi, model), 1e-12))


def reversal(first_midi: int, second_midi: int, third_midi: int) -> float:
    """Schellenberg's pitch reversal of three pitches, -1..2.5: high when a leap turns back.

    Direction part: after more than six semitones +1 for a turn, -1 for going on; else 0 (also for exactly six, which
    the theory leaves open, and for a repeated pitch). Return part: +1.5 when the line turns and comes within two
    semitones of where it began.
    """
    implied, realised = second_midi - first_midi, third_midi - second_midi
    turns = implied * realised < 0
    direction = 0.0
    if abs(implied) > LEAP_SEMITONES and realised:
        direction = 1.0 if turns else -1.0
    returned = turns and abs(third_midi - first_midi) <= RETURN_SEMITONES
    return direction + (1.5 if returned else 0.0)


def join_bits(before_midi: Sequence[int], first_midi: int, model: LineModel) -> float:
    """Cost in bits of going on to ``first_midi`` after a line: surprise less half the reversal."""
    if not before_midi:
        raise ValueError("a join needs a note before it")
    cost = surprise_bits(first_midi, before_midi[-1], model)
    if len(before_midi) > 1:
        cost -= REVERSAL_WEIGHT * reversal(before_midi[-2], before_midi[-1], first_midi)
    return cost


def _weight(pitch_midi: int, previous_midi: int, model: LineModel) -> float:
    far = (pitch_midi - model.centre_midi) ** 2 / model.range_variance
    near = (pitch_midi - previous_midi) ** 2 / model.proximity_variance
    return model.profile[pitch_midi % 12] * exp(-(far + near) / 2)


@lru_cache(maxsize=4096)
def _total(previous_midi: int, model: LineModel) -> float:
    return sum(_weight(pitch_midi, previous_midi, model) for pitch_midi in _PITCHES_MIDI)

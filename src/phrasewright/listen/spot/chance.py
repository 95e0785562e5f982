"""How likely notes follow each other by chance, so that a coincidence is not taken for a motif.

The next pitch is one of the scale; how likely it is depends on how far it lies: for motifs of a shelf the nearer the
likelier, by the proximity term of Temperley's melody model (``melody.join``); for a player's own patterns as often as
that player takes the interval where the scale has it. A note outside the scale weighs a twentieth of one inside it
(by judgement: wrong notes are rare). There is no range term, so that octaves and keys are alike.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from phrasewright.listen.spot.line import Floats, Ints
from phrasewright.melody.join import LineModel

PROXIMITY_VARIANCE = LineModel().proximity_variance
FARTHEST = 24  # semitones
OUTSIDE = 0.05
SMOOTHING = 0.1  # times that any interval is taken to have come besides
_NEVER = 1e-9
_INTERVALS = np.arange(-FARTHEST, FARTHEST + 1)


class Chance:
    """Bits of the steps of a line in a scale. pitch_classes: of the scale, from C; liking: of every interval from two
    octaves down to two octaves up.
    """

    def __init__(self, pitch_classes: Collection[int], liking: Floats) -> None:
        weights = _inside(pitch_classes) * liking
        odds = weights / weights.sum(axis=1, keepdims=True)
        self._step_bits = _bits(odds)
        self._skip_bits = _bits(_two_steps(odds))

    def path_bits(self, pitches_midi: Sequence[int | None]) -> float:
        """How surprising it is that pitches follow each other: about 2 for a step of the scale.

        None is any pitch, at most one in a row; at the ends it says nothing.
        """
        bits = 0.0
        for index, after in enumerate(pitches_midi):
            if after is None or index == 0:
                continue
            before = pitches_midi[index - 1]
            if before is not None:
                bits += _looked_up(self._step_bits, before, after)
            elif index > 1 and (earlier := pitches_midi[index - 2]) is not None:
                bits += _looked_up(self._skip_bits, earlier, after)
        return bits


def chance_in(pitch_classes: Collection[int]) -> Chance:
    """For any player in a scale: near notes follow each other."""
    return Chance(pitch_classes, np.exp(-(_INTERVALS**2) / (2 * PROXIMITY_VARIANCE)))


def chance_of(pitches_midi: Ints, pitch_classes: Collection[int]) -> Chance:
    """For the player of a line: intervals as often as they are taken where the scale has them."""
    moves = np.diff(pitches_midi)
    taken = np.array([np.count_nonzero(moves == interval) for interval in _INTERVALS], dtype=np.float64)
    could = _inside(pitch_classes)[pitches_midi[:-1] % 12].sum(axis=0)
    return Chance(pitch_classes, (taken + SMOOTHING) / (could + 1.0))


def _inside(pitch_classes: Collection[int]) -> Floats:
    """What the scale makes of every interval from every pitch class."""
    inside = np.isin((np.arange(12)[:, None] + _INTERVALS) % 12, [pitch % 12 for pitch in pitch_classes])
    return np.where(inside, 1.0, OUTSIDE)


def _bits(odds: Floats) -> Floats:
    return np.asarray(-np.log2(np.maximum(odds, _NEVER)))


def _two_steps(odds: Floats) -> Floats:
    """Odds of the interval from a note to the second after it, whatever lies between."""
    found = np.zeros_like(odds)
    for pitch_class in range(12):
        for index, first in enumerate(_INTERVALS.tolist()):
            second = odds[(pitch_class + first) % 12]
            low, high = max(0, first), min(len(second), len(second) + first)
            found[pitch_class, low:high] += odds[pitch_class, index] * second[low - first : high - first]
    return found


def _looked_up(bits: Floats, before_midi: int, after_midi: int) -> float:
    interval = max(-FARTHEST, min(FARTHEST, after_midi - before_midi))
    return float(bits[before_midi % 12, interval + FARTHEST])

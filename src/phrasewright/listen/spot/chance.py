"""How likely notes follow each other by chance, so that a coincidence is not taken for a motif.

The next pitch is one of the scale, and the nearer the likelier: the proximity term of Temperley's melody model
(``melody.join``), over scale pitches within two octaves; a note outside the scale weighs a twentieth of one inside it
(by judgement: wrong notes are rare). There is no range term, so that octaves and keys are alike.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache
from math import exp, log2

from phrasewright.melody.join import LineModel

PROXIMITY_VARIANCE = LineModel().proximity_variance
FARTHEST = 24  # semitones
OUTSIDE = 0.05
_NEVER = 1e-9


class Chance:
    """Bits of the steps of a line in a scale. pitch_classes: of the scale, from C."""

    def __init__(self, pitch_classes: Collection[int]) -> None:
        self._inside = frozenset(pitch_class % 12 for pitch_class in pitch_classes)
        self._step = lru_cache(maxsize=None)(self._step_odds)
        self._two_steps = lru_cache(maxsize=None)(self._two_step_odds)

    def step_bits(self, before_midi: int, after_midi: int) -> float:
        """How surprising it is that one pitch follows another: about 2 for a step of the scale."""
        return -log2(max(self._step(before_midi % 12, after_midi - before_midi), _NEVER))

    def skip_bits(self, before_midi: int, after_midi: int) -> float:
        """How surprising it is that one pitch comes two notes after another, whatever lies between."""
        return -log2(max(self._two_steps(before_midi % 12, after_midi - before_midi), _NEVER))

    def path_bits(self, pitches_midi: Sequence[int | None]) -> float:
        """Of a line with at most one gap (None) in a row; gaps at its ends say nothing."""
        bits = 0.0
        for index, after in enumerate(pitches_midi):
            if after is None or index == 0:
                continue
            before = pitches_midi[index - 1]
            if before is not None:
                bits += self.step_bits(before, after)
            elif index > 1 and (earlier := pitches_midi[index - 2]) is not None:
                bits += self.skip_bits(earlier, after)
        return bits

    def _step_odds(self, pitch_class: int, interval: int) -> float:
        if abs(interval) > FARTHEST:
            return 0.0
        total = sum(self._weight(pitch_class, other) for other in range(-FARTHEST, FARTHEST + 1))
        return self._weight(pitch_class, interval) / total

    def _two_step_odds(self, pitch_class: int, interval: int) -> float:
        return sum(
            self._step(pitch_class, first) * self._step((pitch_class + first) % 12, interval - first)
            for first in range(-FARTHEST, FARTHEST + 1)
        )

    def _weight(self, pitch_class: int, interval: int) -> float:
        inside = (pitch_class + interval) % 12 in self._inside
        return (1.0 if inside else OUTSIDE) * exp(-(interval**2) / (2 * PROXIMITY_VARIANCE))

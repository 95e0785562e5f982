"""The fretting hand: four fingers, one per fret as the norm, index and little finger stretching past it.

A ``Hand`` here is where the hand lies, not whose it is. Fingers on one string never cross: a higher fret takes the
same finger or a higher one. Common practice; where strings lie a fifth apart each finger covers two frets, as mandolin
players do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement

INDEX, LITTLE = 1, 4
FINGERS = 4
_SHARED = 3  # cost of pressing two neighbouring notes of a string with one finger, in frets of stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class HandPlace:
    """The hand at a fret. index_fret: where the index finger rests; frets_per_finger: 1, or 2 on fifths."""

    index_fret: int
    frets_per_finger: int = 1

    def stretch_frets(self, finger: int, fret: int) -> int:
        """How many frets a finger leaves its own to press ``fret``."""
        own = self.index_fret + (finger - 1) * self.frets_per_finger
        return max(0, own - fret, fret - (own + self.frets_per_finger - 1))


def fingers_on_string(frets: Sequence[int], hand: HandPlace, *, open_fret: int) -> tuple[int, ...]:
    """Fingers for rising frets of one string: 0 for the open string, then the least stretch without crossing."""
    pressed = tuple(fret - hand.index_fret for fret in frets if fret > open_fret)
    return (0,) * (len(frets) - len(pressed)) + _least_stretch(pressed, hand.frets_per_finger)


@lru_cache(maxsize=4096)
def _least_stretch(past_index: tuple[int, ...], frets_per_finger: int) -> tuple[int, ...]:
    """Fingers for frets counted from the index finger's own."""
    hand = HandPlace(index_fret=0, frets_per_finger=frets_per_finger)
    choices = combinations_with_replacement(range(INDEX, LITTLE + 1), len(past_index))
    return min(choices, key=lambda fingers: _effort(fingers, past_index, hand))


def _effort(fingers: Sequence[int], frets: Sequence[int], hand: HandPlace) -> tuple[int, int]:
    """Frets of stretch, shared fingers counted in; then the stretch of the two middle fingers, which stretch least."""
    stretches = [hand.stretch_frets(finger, fret) for finger, fret in zip(fingers, frets, strict=True)]
    inner = sum(stretch for finger, stretch in zip(fingers, stretches, strict=True) if INDEX < finger < LITTLE)
    shared = len(fingers) - len(set(fingers))
    return sum(stretches) + _SHARED * shared, inner

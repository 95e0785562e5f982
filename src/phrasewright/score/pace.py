"""Pace: where written time goes faster or slower than the tempo says.

A pace is a line with bends: (written, played) moments in quarter notes, both rising; between two of them time runs
evenly, outside them as it does beside. A tempo change is a bend at a bar line, a ritardando a row of them, and a
recording's beats are one for every beat. No moments = played as written.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from phrasewright.score.model import Measure

SLOWED = Fraction(2, 3)  # of its pace, where a ritardando of one bar ends (by ear)
RIT_STEPS = 4  # even stretches a slowing bar is played in


@dataclass(frozen=True, slots=True)
class Pace:
    """moments: (written, played) in quarter notes, both strictly rising; none, or at least two."""

    moments: tuple[tuple[Fraction, float], ...] = ()

    def __post_init__(self) -> None:
        if len(self.moments) == 1 or any(a[0] >= b[0] or a[1] >= b[1] for a, b in pairwise(self.moments)):
            raise ValueError("a pace needs two or more moments that rise in written and in played time")

    def played(self, quarters: float) -> float:
        """The played moment, in quarter notes, of a written one."""
        if not self.moments:
            return quarters
        (written, played), rate = self._stretch(quarters)
        return played + (quarters - float(written)) * rate

    def rate_at(self, quarters: float) -> float:
        """Played quarter notes to each written one from a moment on: 2 is half as fast."""
        return self._stretch(quarters)[1] if self.moments else 1.0

    def _stretch(self, quarters: float) -> tuple[tuple[Fraction, float], float]:
        """The moment a stretch begins at and its rate."""
        place = bisect_right(self.moments, quarters, key=lambda moment: float(moment[0])) - 1
        place = min(max(place, 0), len(self.moments) - 2)
        (written, played), (written_end, played_end) = self.moments[place], self.moments[place + 1]
        return self.moments[place], (played_end - played) / float(written_end - written)


AS_WRITTEN = Pace()


def pace_of(measures: Sequence[Measure]) -> Pace:
    """The pace that the bars ask for."""
    if all(measure.pace == 1 and not measure.slows for measure in measures):
        return AS_WRITTEN
    moments = [(Fraction(0), 0.0)]
    for end, rate in _stretches(measures):
        written, played = moments[-1]
        moments.append((end, played + float((end - written) * rate)))
    return Pace(_bends(moments))


def _stretches(measures: Iterable[Measure]) -> Iterable[tuple[Fraction, Fraction]]:
    """(end, played quarter notes to a written one) of every even stretch."""
    for measure in measures:
        steps = RIT_STEPS if measure.slows else 1
        for step in range(1, steps + 1):
            part = (Fraction(step) - Fraction(1, 2)) / steps
            slowed = 1 + (SLOWED - 1) * part if measure.slows else Fraction(1)
            yield measure.onset + (measure.end - measure.onset) * step / steps, 1 / (measure.pace * slowed)


def _bends(moments: Sequence[tuple[Fraction, float]]) -> tuple[tuple[Fraction, float], ...]:
    """Without the moments at which nothing changes."""
    kept = [moments[0]]
    for here, after in pairwise(moments[1:]):
        before = kept[-1]
        rates = [(b[1] - a[1]) / float(b[0] - a[0]) for a, b in ((before, here), (here, after))]
        if abs(rates[0] - rates[1]) > 1e-12:
            kept.append(here)
    return (*kept, moments[-1])

"""From written time to seconds: tempo, swing and pace.

Swing delays what is written half-way through the beat and leaves triplets alone. Every written time t has a
*swing weight* w(t): the performed time in quarter notes is ``t + s * w`` with s = r / (1 + r) - 1/2 for a
swing ratio r (long to short; 1 = straight, 2 = triplet feel). The ratio falls with tempo: see ``SwingCurve``.
Source of the shape: Friberg & Sundstroem (2002); docs/sources.md 5. Where the tempo changes inside a piece, its
``Pace`` is laid over the swung time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from phrasewright.score.model import Measure
from phrasewright.score.pace import AS_WRITTEN, Pace, pace_of

STRAIGHT = 1.0
SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0  # quarter notes a minute


@dataclass(frozen=True, slots=True)
class SwingCurve:
    """Swing ratio by tempo: linear between (tempo_bpm, ratio) points, constant outside. No points = straight."""

    points: tuple[tuple[float, float], ...] = ()

    def ratio_at(self, tempo_bpm: float) -> float:
        """Long-to-short ratio at a tempo in quarter notes per minute."""
        if not self.points:
            return STRAIGHT
        previous = self.points[0]
        for point in self.points:
            if tempo_bpm <= point[0]:
                if point is previous:
                    return point[1]
                share = (tempo_bpm - previous[0]) / (point[0] - previous[0])
                return previous[1] + share * (point[1] - previous[1])
            previous = point
        return previous[1]


def swing_weight(time: Fraction) -> Fraction:
    """Weight w in quarter notes x 1: 0 on the beat and on triplets, 1 half-way, linear between on the binary grid."""
    within = time % 1
    if within.denominator & (within.denominator - 1):
        return Fraction(0)
    return 2 * within if within <= Fraction(1, 2) else 2 * (1 - within)


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """How a score is played: tempo in quarter notes per minute, swing, and changes of tempo on the way."""

    tempo_bpm: float
    swing: SwingCurve = SwingCurve()
    pace: Pace = AS_WRITTEN

    def __post_init__(self) -> None:
        if not SLOWEST_BPM <= self.tempo_bpm <= FASTEST_BPM:
            raise ValueError(f"tempo must lie in {SLOWEST_BPM:g}..{FASTEST_BPM:g} bpm, got {self.tempo_bpm}")

    def over(self, measures: Sequence[Measure]) -> Performance:
        """The same with the changes of tempo that some bars ask for."""
        return replace(self, pace=pace_of(measures))

    @property
    def swing_shift(self) -> float:
        """How far, in quarter notes, the half-beat is delayed."""
        ratio = self.swing.ratio_at(self.tempo_bpm)
        return ratio / (1.0 + ratio) - 0.5

    def seconds_at(self, time: Fraction) -> float:
        """Performed time in seconds of a written time in quarter notes."""
        swung = float(time) + self.swing_shift * float(swing_weight(time))
        return self.pace.played(swung) * 60.0 / self.tempo_bpm

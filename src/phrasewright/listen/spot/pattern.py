"""Find a pattern in any key: the same steps in semitones, in the same rhythm where one is asked for.

Rhythm is compared as played, in any tempo from half to twice that of the pattern: each time from note to note may be
``RATIO`` times longer or shorter than meant, and both of its notes may slip by ``SLIP_S``. With a rhythm the pattern's
own rests may lie inside it; without one it must lie within one phrase.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.line import Line, line_of

RATIO = 1.22  # the square root of 1.5: half-way, by ratio, from a note to a dotted one
SLIP_S = 0.04  # two standard deviations of a slip of 20 ms
SLOWEST, FASTEST = 2.0, 0.5  # times of the pattern's tempo that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is looked for. intervals: semitones from note to note, at least one; steps_s: times from note to note, as
    many, or none for any rhythm.
    """

    intervals: tuple[int, ...]
    steps_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.intervals:
            raise ValueError("a pattern has two notes at least")
        if self.steps_s and len(self.steps_s) != len(self.intervals):
            raise ValueError(f"{len(self.intervals)} intervals need as many times, got {len(self.steps_s)}")
        if any(step_s <= 0 for step_s in self.steps_s):
            raise ValueError("notes of a pattern follow each other in time")


def find_pattern(pattern: Pattern, notes: Sequence[PlacedNote], *, tuning_cents: float = 0.0) -> tuple[int, ...]:
    """The first note of every place where a pattern lies, in any key. notes: by onset; tuning_cents: of the take."""
    line = line_of(notes, tuning_cents)
    return tuple(int(line.index[start]) for start in places_in(pattern, line))


def places_in(pattern: Pattern, line: Line) -> list[int]:
    """The same, as indices into a line."""
    size = len(pattern.intervals) + 1
    same = (np.diff(line.windows(size), axis=1) == np.array(pattern.intervals)).all(axis=1)
    if not pattern.steps_s:
        return np.flatnonzero(same & line.within_phrase(size)).tolist()
    return [start for start in np.flatnonzero(same).tolist() if _keeps_rhythm(pattern, line, start)]


def _keeps_rhythm(pattern: Pattern, line: Line, start: int) -> bool:
    heard_s = line.steps_s[start : start + len(pattern.steps_s)]
    asked_s = np.array(pattern.steps_s)
    tempo = float(heard_s.sum() / asked_s.sum())
    if not FASTEST <= tempo <= SLOWEST:
        return False
    meant_s = tempo * asked_s
    longest_s, shortest_s = RATIO * meant_s + 2 * SLIP_S, meant_s / RATIO - 2 * SLIP_S
    return bool(np.all((shortest_s <= heard_s) & (heard_s <= longest_s)))

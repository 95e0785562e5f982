"""Counts and clock told from each other until both rest, from the first part of a take to its end.

The clock says which count each note is meant for, the counts say how the clock runs. A tempo that is a little wrong
loses its place after a while, so the first half minute is settled first and then ever more of the take. Where a player
wanders around the clock, notes are counted from where the neighbours lie; the clock itself stays even.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.counts import counted
from phrasewright.listen.align.laid import laid
from phrasewright.listen.align.search import head_of
from phrasewright.listen.placed import TakeClock
from phrasewright.score.model import Measure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

FIRST_SPREAD_S = 0.03
ROUNDS = 8  # at most; most parts rest after two or three
GROWTH = 1.5
WANDER_S, WANDER_NOTES = 4.0, 6  # neighbours either side, and how many there must be


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """clock: that the notes keep; counts: of each note, in quarter notes; spread_s: around the clock."""

    clock: TakeClock
    counts: tuple[Fraction, ...]
    spread_s: float


def settled(
    onsets_s: FloatArray,
    weights: FloatArray,
    clock: TakeClock,
    measures: Sequence[Measure],
    *,
    known: Mapping[int, Fraction],
    at_its_tempo: bool = False,
) -> Settled:
    """Counts and clock of a take. onsets_s: (n,), rising, n > 0; clock: a first guess; known: counts that are given.

    at_its_tempo: the guess's tempo is kept throughout.
    """
    spread_s, wander_s = FIRST_SPREAD_S, np.zeros(len(onsets_s))
    until = len(onsets_s) if known else head_of(onsets_s)
    while True:
        counts: tuple[Fraction, ...] = ()
        for _ in range(ROUNDS):
            before = counts
            found = counted(onsets_s[:until] - wander_s[:until], clock, measures, spread_s=spread_s)
            counts = tuple(known.get(note, count) for note, count in enumerate(found))
            if counts == before:
                break
            fit = laid(counts, onsets_s[:until], weights[:until], clock, at_its_tempo=at_its_tempo)
            clock, spread_s = fit.clock, fit.spread_s
            wander_s = _wander_s(onsets_s, fit.residuals_s, spread_s)
        if until == len(onsets_s):
            return Settled(clock=clock, counts=counts, spread_s=spread_s)
        further_s = onsets_s[0] + GROWTH * (onsets_s[until - 1] - onsets_s[0])
        until = min(max(int(np.searchsorted(onsets_s, further_s, side="right")), until + 1), len(onsets_s))


def _wander_s(onsets_s: FloatArray, residuals_s: FloatArray, spread_s: float) -> FloatArray:
    """How far the neighbours of each note lie off the clock, where that is more than single notes do."""
    known_s = onsets_s[: len(residuals_s)]
    first = np.searchsorted(known_s, known_s - WANDER_S)
    last = np.searchsorted(known_s, known_s + WANDER_S, side="right")
    middle = np.array(
        [np.median(residuals_s[a:b]) if b - a >= WANDER_NOTES else 0.0 for a, b in zip(first, last, strict=True)]
    )
    beyond = np.sign(middle) * np.clip(np.abs(middle) - spread_s, 0.0, None)
    return np.append(beyond, np.full(len(onsets_s) - len(beyond), beyond[-1]))

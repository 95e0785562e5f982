"""Which heard note was played for which written one: the best chain of pairs that rises in both.

A pair is worth something when its pitch is right, less in a wrong octave, least with a wrong pitch at the right time.
From pair to pair the take may come earlier or later against its clock; that costs in proportion, up to the price of a
jump: a player who repeats or leaves out a phrase is followed when three right notes or more speak for it. Notes without
a pair are missed or added. Exact (dynamic programming over pairs); the numbers are set by judgement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.even import clock_s
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import TakeClock
from phrasewright.score.model import Note
from phrasewright.score.technique import Damping
from phrasewright.units import CENTS_PER_SEMITONE, SEMITONES_PER_OCTAVE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]
    IntArray = NDArray[np.int64]

RIGHT, OCTAVE, WRONG = 1.0, 0.7, 0.4
SLIP_S = 0.4  # a change of the lag by so much costs 1: a right note 0.2 s off, and back, is still played
JUMP = 2.5  # what any change costs at most
WRONG_WITHIN_S = 0.15  # a wrong pitch stands for a written one only so near its time
REACH_S = 15.0  # no pair lies further apart than this on the take's clock
PULL, PULL_S = 0.02, 1.0  # among equals, the pair nearer the clock: at most 0.02, from 1 s on
MOST_PAIRS = 6000  # of a long take only the nearest pairs in time are weighed


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """written, heard: indices; lag_s: heard minus the clock's time of the written note."""

    written: int
    heard: int
    lag_s: float


def whole_midi(note: HeardNote, tuning_cents: float) -> int:
    """The semitone a heard note is, on an instrument tuned so many cents from A4 = 440 Hz."""
    return round(note.pitch_midi - tuning_cents / CENTS_PER_SEMITONE)


def paired(
    written: Sequence[Note], heard: Sequence[HeardNote], clock: TakeClock, *, tuning_cents: float = 0.0
) -> list[Pair]:
    """The pairs, rising in both. written, heard: by onset; a heard dead note stands for a written dead one alone."""
    if not written or not heard:
        return []
    lags_s = np.array([note.onset_s for note in heard]) - clock_s((note.onset for note in written), clock)[:, None]
    steps = _steps(written, heard, tuning_cents)
    gains = np.select([steps == 0, steps % SEMITONES_PER_OCTAVE == 0], [RIGHT, OCTAVE], WRONG)
    fits = (np.abs(lags_s) <= REACH_S) & ((gains > WRONG) | (np.abs(lags_s) <= WRONG_WITHIN_S))
    dead = np.array([note.touch.damping is Damping.DEAD for note in written])
    both_dead = dead[:, None] & np.array([note.is_dead for note in heard])
    fits[:, [note.is_dead for note in heard]] = False
    fits |= both_dead & (np.abs(lags_s) <= WRONG_WITHIN_S)
    gains[both_dead] = RIGHT
    if int(fits.sum()) > MOST_PAIRS:
        limit_s = np.partition(np.abs(lags_s[fits]), MOST_PAIRS)[MOST_PAIRS]
        fits &= np.abs(lags_s) <= limit_s
    heard_at, written_at = np.nonzero(fits.T)
    lag_s = lags_s[written_at, heard_at]
    worth = gains[written_at, heard_at] - PULL * np.minimum(np.abs(lag_s) / PULL_S, 1.0)
    chain = _best_chain(written_at, heard_at, lag_s, worth)
    return [Pair(written=int(written_at[at]), heard=int(heard_at[at]), lag_s=float(lag_s[at])) for at in chain]


def _steps(written: Sequence[Note], heard: Sequence[HeardNote], tuning_cents: float) -> IntArray:
    """Semitones from each written note to each heard one."""
    sounding = np.array([whole_midi(note, tuning_cents) for note in heard], dtype=np.int64)
    wanted = np.array([note.pitch.midi for note in written], dtype=np.int64)
    return np.asarray(sounding - wanted[:, None])


def _best_chain(written: IntArray, heard: IntArray, lag_s: FloatArray, worth: FloatArray) -> list[int]:
    """Positions of the pairs of the best chain. All arrays (n,), by heard, then written."""
    total = worth.copy()
    before = np.full(len(worth), -1)
    starts = np.searchsorted(heard, heard)  # the first pair with the same heard note
    for at in range(len(worth)):
        end = int(starts[at])
        cost = np.minimum(np.abs(lag_s[:end] - lag_s[at]) / SLIP_S, JUMP)
        reach = np.where(written[:end] < written[at], total[:end] - cost, -np.inf)
        if end and (best := int(reach.argmax())) >= 0 and reach[best] > 0.0:
            total[at] += reach[best]
            before[at] = best
    chain = [int(total.argmax())] if len(total) else []
    while chain and before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    return chain[::-1]

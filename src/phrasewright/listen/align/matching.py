"""Which heard notes are which true ones, and the usual measures of how many are.

A heard note may stand for a true one when their onsets lie within 50 ms and their pitches within 50 cents; where
offsets count, also when they end within a fifth of the true note's length, or within 50 ms. Each note is used once, and
as many pairs are made as can be (maximum bipartite matching). Conventions and rounding are those of mir_eval 0.8
(Raffel et al., "mir_eval", ISMIR 2014; docs/sources.md 8), to which tests hold it equal: distances in time are rounded
to 0.1 ms, and a distance that equals its bound is within it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from phrasewright.units import CENTS_PER_SEMITONE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

ONSET_S, PITCH_CENTS = 0.05, 50.0
OFFSET_SHARE, LEAST_OFFSET_S = 0.2, 0.05
TIME_DECIMALS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoteList:
    """Notes as arrays, float64 (n,) each: onsets and offsets in s, pitches as fractional MIDI numbers."""

    onset_s: FloatArray
    offset_s: FloatArray
    pitch_midi: FloatArray

    def __post_init__(self) -> None:
        if not len(self.onset_s) == len(self.offset_s) == len(self.pitch_midi):
            raise ValueError("every note needs an onset, an offset and a pitch")

    def __len__(self) -> int:
        """How many notes."""
        return len(self.onset_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How well one list of notes stands for another, 0..1 each; all 0 where either list is empty."""

    precision: float
    recall: float

    @property
    def f(self) -> float:
        """The harmonic mean of both."""
        both = self.precision + self.recall
        return 2.0 * self.precision * self.recall / both if both else 0.0


def matched(true: NoteList, heard: NoteList, *, pitches: bool = True, offsets: bool = False) -> list[tuple[int, int]]:
    """(true, heard) indices of as many pairs as can be made, by true note. pitches, offsets: whether they count."""
    near = np.round(np.abs(true.onset_s[:, None] - heard.onset_s), TIME_DECIMALS) <= ONSET_S
    if pitches:
        near &= np.abs(true.pitch_midi[:, None] - heard.pitch_midi) * CENTS_PER_SEMITONE <= PITCH_CENTS
    if offsets:
        allowed_s = np.maximum(OFFSET_SHARE * (true.offset_s - true.onset_s), LEAST_OFFSET_S)
        near &= np.round(np.abs(true.offset_s[:, None] - heard.offset_s), TIME_DECIMALS) <= allowed_s[:, None]
    if not near.any():
        return []
    partner = maximum_bipartite_matching(csr_array(near), perm_type="column")
    return [(index, int(other)) for index, other in enumerate(partner) if other >= 0]


def scored(true: NoteList, heard: NoteList, *, pitches: bool = True, offsets: bool = False) -> Score:
    """Share of the heard notes that are true ones, and of the true notes that were heard."""
    if not len(true) or not len(heard):
        return Score(precision=0.0, recall=0.0)
    pairs = len(matched(true, heard, pitches=pitches, offsets=offsets))
    return Score(precision=pairs / len(heard), recall=pairs / len(true))

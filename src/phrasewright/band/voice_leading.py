"""Voicings joined so that the voices move little.

Each chord of a chart has a handful of voicings from its family; the chain of them with the least movement is found by
dynamic programming over the whole chart. The top voice counts twice, because it is heard as a melody (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from random import Random

import numpy as np
import numpy.typing as npt

from phrasewright.band.families import voicings_in
from phrasewright.band.groove_model import ChordStyle
from phrasewright.band.voicings import Voicing, awkwardness
from phrasewright.theory.chord import Chord

UNPAIRED = 4  # semitones that a voice counts which the other voicing does not have
_NOISE = 1.0  # how far chance may move the choice, in semitones of movement
OWN_SHARE = 0.4  # how much the handiness of a voicing weighs against movement, after the first chord

Floats = npt.NDArray[np.float64]
Indexes = npt.NDArray[np.intp]


def lead_voices(chords: Sequence[Chord], style: ChordStyle, *, rng: Random) -> tuple[Voicing, ...]:
    """A voicing for each chord in turn, the voices moving as little as they can."""
    if not chords:
        return ()
    own = _own_costs(chords, style, rng)
    costs, trail = _search(chords, style, own, own[0][np.newaxis])
    return _walked_back(chords, style, trail, 0, int(costs[0].argmin()))


def lead_voices_round(chords: Sequence[Chord], style: ChordStyle, *, rng: Random) -> tuple[Voicing, ...]:
    """The same for chords that go round: the way from the last voicing to the first counts like every other."""
    if not chords:
        return ()
    own = _own_costs(chords, style, rng)
    starts = np.where(np.eye(len(own[0]), dtype=bool), own[0], np.inf)
    costs, trail = _search(chords, style, own, starts)
    closed = costs + _movements(chords[-1], chords[0], style).T
    first, last = np.unravel_index(int(closed.argmin()), closed.shape)
    return _walked_back(chords, style, trail, int(first), int(last))


def movement(first: Voicing, second: Voicing) -> float:
    """Semitones the voices move in all, top voices paired, the top one counted twice; unpaired voices move 4."""
    pairs = list(zip(reversed(first.pitches), reversed(second.pitches), strict=False))
    moved = sum(abs(low.midi - high.midi) for low, high in pairs)
    top = abs(pairs[0][0].midi - pairs[0][1].midi)
    return float(moved + top + UNPAIRED * abs(len(first.pitches) - len(second.pitches)))


@lru_cache(maxsize=4096)
def _movements(first: Chord, second: Chord, style: ChordStyle) -> Floats:
    """``movement`` from every voicing of one chord, by row, to every voicing of another."""
    low, high = _from_the_top(first, style), _from_the_top(second, style)
    voices = max(low.shape[1], high.shape[1])
    low, high = (np.pad(one, ((0, 0), (0, voices - one.shape[1])), constant_values=np.nan) for one in (low, high))
    moved = np.abs(low[:, np.newaxis] - high[np.newaxis])
    unpaired = np.isnan(low)[:, np.newaxis] ^ np.isnan(high)[np.newaxis]
    return np.asarray(np.nansum(moved, axis=2) + moved[:, :, 0] + UNPAIRED * unpaired.sum(axis=2))


@lru_cache(maxsize=4096)
def _from_the_top(chord: Chord, style: ChordStyle) -> Floats:
    """MIDI pitches of a chord's voicings, one a row, falling; NaN where a voicing has fewer voices."""
    rows = [[float(pitch.midi) for pitch in reversed(one.pitches)] for one in voicings_in(chord, style)]
    voices = max(len(row) for row in rows)
    return np.array([row + [np.nan] * (voices - len(row)) for row in rows])


@lru_cache(maxsize=4096)
def _handiness(chord: Chord, style: ChordStyle) -> Floats:
    return np.array([awkwardness(one) for one in voicings_in(chord, style)])


def _own_costs(chords: Sequence[Chord], style: ChordStyle, rng: Random) -> list[Floats]:
    """What each voicing of each chord costs by itself, taste of the day included; the first chord's count in full."""
    taste = {
        chord: np.array([_NOISE * rng.random() for _ in voicings_in(chord, style)]) for chord in dict.fromkeys(chords)
    }
    weights = [1.0, *[OWN_SHARE] * (len(chords) - 1)]
    return [weight * _handiness(chord, style) + taste[chord] for weight, chord in zip(weights, chords, strict=True)]


def _search(
    chords: Sequence[Chord], style: ChordStyle, own: Sequence[Floats], costs: Floats
) -> tuple[Floats, list[Indexes]]:
    """Least cost of each voicing of the last chord, a row for each way to start, and the best voicing before each."""
    trail: list[Indexes] = []
    for (before, now), extra in zip(pairwise(chords), own[1:], strict=True):
        totals = costs[:, :, np.newaxis] + _movements(before, now, style)[np.newaxis]
        trail.append(totals.argmin(axis=1))
        costs = totals.min(axis=1) + extra
    return costs, trail


def _walked_back(
    chords: Sequence[Chord], style: ChordStyle, trail: Sequence[Indexes], start: int, last: int
) -> tuple[Voicing, ...]:
    indexes = [last]
    for back in reversed(trail):
        indexes.append(int(back[start, indexes[-1]]))
    return tuple(voicings_in(chord, style)[index] for chord, index in zip(chords, reversed(indexes), strict=True))

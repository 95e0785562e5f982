"""How hard the band plays: a curve over the form that loudness and density follow.

Each phrase has an intensity from 0 to 1. The first part of the form is low, the last one high; inside a part it rises
to the next; a chorus lies over a verse; in a long form one part may draw back before the last ones (common practice).
0.75 plays patterns as loud as they are written, 0 plays 3 dB softer, 1 is 1 dB louder. Grooves that only keep time
(``Groove.crash`` is None) stay at 0.75.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from random import Random
from typing import TypeVar

from phrasewright.band.form import PHRASE_BARS, BarPlan, part_ranges

LOWEST, HIGHEST = 0.2, 0.85  # of the first part and the last
BUILD = 0.15  # how far a part rises from its first phrase to its last
DRAW_BACK = 0.3  # how far one part of a long form falls
DRAW_BACK_SHARE = 0.6  # of the forms that are long enough
LONG_FORM_PARTS = 6
TASTE = 0.08  # how far chance moves an inner part
SOFTEST_DB, LOUDEST_DB = -3.0, 1.0
DB_PER_VELOCITY_DECADE = 30.0  # the voices' loudness is velocity to the power of 1.5
SPOKEN = {"intro": -0.15, "verse": -0.1, "chorus": 0.15, "refrain": 0.15, "outro": -0.1, "coda": -0.1}

_Item = TypeVar("_Item")


def shaped(bars: Sequence[BarPlan], *, rng: Random) -> tuple[BarPlan, ...]:
    """The bars with their intensity and that of their part. The same generator state gives the same bars."""
    ranges = part_ranges(bars)
    if not ranges:
        return tuple(bars)
    levels = _levels([bars[start].measure.section for start, _ in ranges], rng)
    spared = rng.randrange(12)
    found: list[BarPlan] = []
    for (start, end), level in zip(ranges, levels, strict=True):
        for index in range(start, end):
            built = level + BUILD * _share(index - start, end - start)
            found.append(replace(bars[index], intensity=_within(built), level=_within(level), spared=spared))
    before = [replace(bar, intensity=levels[0], level=levels[0]) for bar in bars if bar.pickup]
    return (*before, *found)


def gain_db(intensity: float) -> float:
    """How much louder than written an intensity plays, in decibels."""
    return SOFTEST_DB + (LOUDEST_DB - SOFTEST_DB) * intensity


def louder(velocity: float, intensity: float) -> float:
    """A stroke's velocity at an intensity, at most 1."""
    factor = math.pow(10.0, gain_db(intensity) / DB_PER_VELOCITY_DECADE)
    return min(1.0, round(velocity * factor, 3))


def rung(ranked: Sequence[_Item], level: float) -> _Item:
    """The one of things ranked from plain to busy that fits a level; the lowest level takes the first."""
    share = (level - LOWEST) / (HIGHEST - LOWEST)
    return ranked[min(len(ranked) - 1, max(0, int(share * len(ranked))))]


def without(ranked: Sequence[_Item], spared: int) -> Sequence[_Item]:
    """Things ranked from plain to busy less one of them, or none, so that tracks differ; two or fewer all stay."""
    if len(ranked) < 3:
        return ranked
    left_out = spared % (len(ranked) + 1)
    return [*ranked[:left_out], *ranked[left_out + 1 :]]


def window(ranked: Sequence[_Item], intensity: float) -> Sequence[_Item]:
    """Things ranked from plain to busy, two at least: the busiest goes when it is calm, else the plainest."""
    size = max(2, len(ranked) - 1)
    return ranked[:size] if intensity < (LOWEST + HIGHEST) / 2 else ranked[-size:]


def _levels(names: Sequence[str], rng: Random) -> list[float]:
    """The intensity each part begins with."""
    last = len(names) - 1
    rise = [LOWEST + (HIGHEST - BUILD - LOWEST) * (place / last if last else 0.5) for place in range(len(names))]
    taste = [TASTE * rng.uniform(-1.0, 1.0) if 0 < place < last else 0.0 for place in range(len(names))]
    draws_back = rng.randrange(len(names) // 2, last) if len(names) >= LONG_FORM_PARTS else None
    if draws_back is not None and rng.random() < DRAW_BACK_SHARE:
        taste[draws_back] -= DRAW_BACK
    return [
        _within(min(level + change, HIGHEST - BUILD) + _spoken(name))
        for level, change, name in zip(rise, taste, names, strict=True)
    ]


def _spoken(name: str) -> float:
    """What a part's name says of it: ``Verse 2`` is a verse."""
    word = name.lower().split()[0] if name.strip() else ""
    return SPOKEN.get(word, 0.0)


def _share(place: int, bars: int) -> float:
    """How far a phrase lies through its part: 0 for the first, 1 for the last."""
    phrases = -(-bars // PHRASE_BARS)
    return (place // PHRASE_BARS) / (phrases - 1) if phrases > 1 else 0.0


def _within(level: float) -> float:
    return min(1.0, max(0.0, level))

"""Positions under one hand: the open position and the movable boxes, found by trying hand placements.

A box needs no table. The hand is laid at every fret; at each it stretches no further than it must, and every scale
tone from its lowest to its highest note gets a place (``hold``). Neighbouring placements often play the same notes:
of those the easiest stays, and what stays are the shapes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from phrasewright.neck.hand import FINGERS, HandPlace
from phrasewright.neck.hold import Hold, Reach, hold
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.ladder import frets_by_string
from phrasewright.theory.scale import Scale

MOST_STRETCHED_FRETS = 4  # frets past the hand's own that a search tries, both sides together
_FIFTHS_GAP = 6  # strings at least this many semitones apart: each finger covers two frets


def hand_frets(instrument: Instrument, strings: Sequence[int]) -> int:
    """Frets under the hand without a stretch: 4; where every string is a tritone or more above the last, that gap."""
    opens = [instrument.tuning[string - 1].midi for string in strings]
    gap = min((high - low for low, high in pairwise(opens)), default=0)
    return min(gap, 2 * FINGERS) if gap >= _FIFTHS_GAP else FINGERS


def open_hold(scale: Scale, instrument: Instrument, strings: Sequence[int]) -> Hold | None:
    """Open strings and the first frets (above the capo when there is one), one finger per fret."""
    frets = hand_frets(instrument, strings)
    hand = HandPlace(index_fret=instrument.capo + 1, frets_per_finger=1 if frets == FINGERS else 2)
    top = min(instrument.capo + max(FINGERS, frets - 1), instrument.frets)
    tries = (
        Reach(low=instrument.capo, high=top, above=above)
        for above in range(MOST_STRETCHED_FRETS + 1)
        if top + above <= instrument.frets
    )
    found = (hold(scale, instrument, strings, reach, hand) for reach in tries)
    return next((one for one in found if one is not None), None)


def box_holds(scale: Scale, instrument: Instrument, strings: Sequence[int]) -> list[Hold]:
    """The distinct boxes wherever they fit between capo and last fret, lowest first, whatever they stretch in mm."""
    placed = [
        shape.moved(12 * octave)
        for shape in _shapes(scale, instrument, strings)
        for octave in range(-1, instrument.frets // 12 + 1)
    ]
    return sorted((one for one in placed if _fits(one, instrument)), key=lambda one: one.hand.index_fret)


def _fits(one: Hold, instrument: Instrument) -> bool:
    frets = [place.fret for place in one.places]
    return instrument.capo < min(frets) and max(frets) <= instrument.frets


def _shapes(scale: Scale, instrument: Instrument, strings: Sequence[int]) -> list[Hold]:
    """One hold per shape, from twelve neighbouring placements on a neck without ends.

    A placement counts when neither neighbouring placement is easier. Of placements that play the same pitches the
    easiest stays (of equals the smaller grasp, then the one that stretches the index finger), and one that plays
    only part of another's goes unless it is easier.
    """
    hands = range(instrument.capo + 1, instrument.capo + 13)
    around = [_easiest_at(scale, instrument, strings, index_fret) for index_fret in hands]
    found = [
        one
        for number, one in enumerate(around)
        if one is not None and one.effort <= min(_effort(around[number - 1]), _effort(around[(number + 1) % 12]))
    ]
    kept: list[Hold] = []
    for one in sorted(found, key=_preference):
        if not any(_plays_all(other, one, instrument) for other in kept):
            kept.append(one)
    return kept


def _preference(one: Hold) -> tuple[object, ...]:
    """Easiest first; nothing in it depends on the octave in which a shape was found."""
    rows = [len(frets) for frets in frets_by_string(one.places).values()]
    index_stretch = one.hand.index_fret - one.lowest_fret
    shape = tuple(place.fret - one.hand.index_fret for place in one.places)
    return one.effort, -len(one.places), one.grasp, -index_stretch, max(rows), shape


def _effort(one: Hold | None) -> float:
    return math.inf if one is None else one.effort


def _plays_all(larger: Hold, smaller: Hold, instrument: Instrument) -> bool:
    """Whether ``larger`` plays every pitch of ``smaller``, in the octave where they lie closest."""
    low, high = _range_midi(larger, instrument)
    first, last = _range_midi(smaller, instrument)
    return any(low <= first + shift and last + shift <= high for shift in (-12, 0, 12))


def _range_midi(one: Hold, instrument: Instrument) -> tuple[int, int]:
    """Lowest and highest pitch; a shape not yet placed may lie off the neck."""
    first, last = one.places[0], one.places[-1]
    tuning = instrument.tuning
    return tuning[first.string - 1].midi + first.fret, tuning[last.string - 1].midi + last.fret


def _easiest_at(scale: Scale, instrument: Instrument, strings: Sequence[int], index_fret: int) -> Hold | None:
    """The box with the index finger at a fret and no more stretch than it needs, None when there is none."""
    frets = hand_frets(instrument, strings)
    hand = HandPlace(index_fret=index_fret, frets_per_finger=1 if frets == FINGERS else 2)
    own = Reach(low=index_fret, high=index_fret + frets - 1)
    for stretched in range(MOST_STRETCHED_FRETS + 1):
        tries = [
            hold(scale, instrument, strings, replace(own, below=below, above=stretched - below), hand)
            for below in range(stretched + 1)
        ]
        found = [one for one in tries if one is not None]
        if found:
            return min(found, key=lambda one: one.ease(instrument))
    return None

"""Positions under one hand: the open position and the movable boxes, found by trying hand placements.

A box needs no table. The hand is laid at every fret; at each it stretches no further than it must, and every scale
tone from its lowest to its highest note gets a place (``hold``). Neighbouring placements often play the same notes:
of those the easiest stays, and what stays are the shapes.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from phrasewright.neck.hand import FINGERS, HandPlace
from phrasewright.neck.hold import Hold, Reach, hold, hold_between
from phrasewright.neck.instrument import Instrument
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
    top = instrument.capo + max(FINGERS, frets - 1)
    tries = (Reach(low=instrument.capo, high=top, above=above) for above in range(MOST_STRETCHED_FRETS + 1))
    found = (hold(scale, instrument, strings, reach, hand) for reach in tries)
    return next((one for one in found if one is not None), None)


def box_holds(scale: Scale, instrument: Instrument, strings: Sequence[int]) -> list[Hold]:
    """The distinct boxes along the whole neck, lowest first, whatever they stretch in mm.

    A placement counts when neither neighbouring placement is easier; of placements that play the same pitches
    the easiest stays, and of equals the one that stretches the index finger.
    """
    frets = hand_frets(instrument, strings)
    hands = range(instrument.capo + 1, instrument.frets - frets + 2)
    found = {index_fret: _easiest_at(scale, instrument, strings, index_fret, frets) for index_fret in hands}
    best: dict[tuple[int, ...], Hold] = {}
    for index_fret, one in found.items():
        neighbours = (found.get(index_fret - 1), found.get(index_fret + 1))
        if one is None or any(other is not None and other.effort < one.effort for other in neighbours):
            continue
        pitches = tuple(instrument.midi_at(place) for place in one.places)
        if pitches not in best or one.ease <= best[pitches].ease:
            best[pitches] = one
    return sorted(best.values(), key=lambda one: one.hand.index_fret)


def _easiest_at(
    scale: Scale, instrument: Instrument, strings: Sequence[int], index_fret: int, frets: int
) -> Hold | None:
    """The box with the index finger at a fret and no more stretch than it needs, None when there is none."""
    hand = HandPlace(index_fret=index_fret, frets_per_finger=1 if frets == FINGERS else 2)
    top = index_fret + frets - 1
    for stretched in range(MOST_STRETCHED_FRETS + 1):
        reaches = [
            Reach(low=index_fret, high=top, below=below, above=stretched - below)
            for below in range(stretched + 1)
            if index_fret - below > instrument.capo and top + stretched - below <= instrument.frets
        ]
        tries = (_widened(scale, instrument, strings, reach, hand) for reach in reaches)
        found = [one for one in tries if one is not None]
        if found:
            return min(found, key=lambda one: one.ease)
    return None


def _widened(
    scale: Scale, instrument: Instrument, strings: Sequence[int], reach: Reach, hand: HandPlace
) -> Hold | None:
    """A hold whose ends also take the tones on frets that the hand stretches to anyway."""
    first = hold(scale, instrument, strings, reach, hand)
    if first is None:
        return None
    used = [place.fret for place in first.places]
    ends = min(reach.low, *used), max(reach.high, *used)
    return hold_between(scale, instrument, strings, reach, hand, ends=ends) or first

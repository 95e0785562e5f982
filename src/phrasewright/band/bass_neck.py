"""Where a bass line lies on the neck: octave, string, fret and finger of every note.

One dynamic programme over (string, fret, hand): the line moves in small intervals near its home, approaches resolve,
riffs keep their shape, and the hand shifts little, the less the shorter it has. The hand covers as many frets as lie
within ``REACH_MM``: three in the lowest positions, where first, second and little finger play them, four from the
fifth fret on, a finger a fret (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from phrasewright.neck.catalogue import instrument
from phrasewright.neck.instrument import StringFret

BASS_GUITAR = instrument("bass")
LOWEST_MIDI, HIGHEST_MIDI = 28, 55  # E1 to G3
HIGHEST_FRET = 12
HOME_MIDI = 37  # about C#2: where a line likes to lie
REACH_MM = 105.0  # frets 1 to 3 lie 89 mm apart, 1 to 4 130 mm, 5 to 8 103 mm
LOWEST_HAND, HIGHEST_OPEN_HAND = 1, 5  # an open string is played by a hand that waits down here
SHIFT_COST, SHIFT_COST_MM = 0.25, 0.015  # a shift at all, and its way
LEAST_WAIT = Fraction(1, 4)  # of a quarter note: what is shorter hurries no more
CROSSING_COST = 0.08  # a string further
FRET_COST = 0.02
WRONG_LEAP = 30.0  # a riff that loses its shape
UNRESOLVED = 50.0

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A place on the neck with the hand that plays it. hand: the index finger's fret; finger: 0 open, else 1..4."""

    place: StringFret
    hand: int
    pitch_midi: int

    @property
    def finger(self) -> int:
        """Which finger presses it."""
        past = self.place.fret - self.hand
        if self.place.fret == 0:
            return 0
        return 4 if past == 2 and frets_in_reach(self.hand) == 2 else past + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """How a note follows the one before it. wait: quarter notes between their onsets.

    octave: an octave up is no leap; climbs: belongs above; resolves: the one before must reach it by step; leap: the
    semitones a riff's shape asks for, None where it asks for none.
    """

    pitch_class: int
    wait: Fraction
    octave: bool
    climbs: bool
    resolves: bool
    leap: int | None


def laid_out(links: Sequence[Link], *, goes_round: bool) -> tuple[Stop, ...]:
    """A stop for every note. goes_round: the way from the last to the first counts like every other."""
    choices = [stops_of(link.pitch_class) for link in links]
    own = [_own_costs(link.pitch_class) for link in links]
    costs = np.where(np.eye(len(own[0]), dtype=bool), own[0], np.inf) if goes_round else own[0][np.newaxis]
    trail: list[npt.NDArray[np.intp]] = []
    for place in range(1, len(links)):
        totals = costs[:, :, np.newaxis] + _ways(links[place - 1].pitch_class, links[place])[np.newaxis]
        trail.append(totals.argmin(axis=1))
        costs = totals.min(axis=1) + own[place]
    if goes_round:
        costs = costs + _ways(links[-1].pitch_class, links[0]).T
    start, last = (int(index) for index in np.unravel_index(int(costs.argmin()), costs.shape))
    indexes = [last]
    for back in reversed(trail):
        indexes.append(int(back[start, indexes[-1]]))
    return tuple(stops[index] for stops, index in zip(choices, reversed(indexes), strict=True))


@cache
def frets_in_reach(hand: int) -> int:
    """How many frets past the index finger's the little finger reaches."""
    return max(past for past in range(4) if BASS_GUITAR.stretch_mm(hand, hand + past) <= REACH_MM)


@cache
def stops_of(pitch_class: int) -> tuple[Stop, ...]:
    """Every stop that sounds a pitch class within range, low pitches first."""
    pitches = range(LOWEST_MIDI + (pitch_class - LOWEST_MIDI) % 12, HIGHEST_MIDI + 1, 12)
    return tuple(
        Stop(place=place, hand=hand, pitch_midi=pitch_midi)
        for pitch_midi in pitches
        for place in BASS_GUITAR.places_of(pitch_midi)
        if place.fret <= HIGHEST_FRET
        for hand in _hands(place.fret)
    )


def _hands(fret: int) -> list[int]:
    """Where the hand may lie to play a fret."""
    if fret == 0:
        return list(range(LOWEST_HAND, HIGHEST_OPEN_HAND + 1))
    return [hand for hand in range(LOWEST_HAND, fret + 1) if hand + frets_in_reach(hand) >= fret]


@cache
def _own_costs(pitch_class: int) -> Floats:
    stops = stops_of(pitch_class)
    return np.array([abs(stop.pitch_midi - HOME_MIDI) / 12.0 + FRET_COST * stop.place.fret for stop in stops])


def _ways(pitch_class: int, link: Link) -> Floats:
    """What it costs to go from every stop of a pitch class to every stop of the next note."""
    hurry = float(1 / max(LEAST_WAIT, min(link.wait, Fraction(1))))
    line = _leaps(pitch_class, link.pitch_class, link.octave, link.climbs, link.resolves, link.leap)
    return line + hurry * _shifts(pitch_class, link.pitch_class) + _crossings(pitch_class, link.pitch_class)


@lru_cache(maxsize=2048)
def _leaps(before: int, now: int, octave: bool, climbs: bool, resolves: bool, leap: int | None) -> Floats:
    """What the intervals cost: the line's side of it."""
    lows, highs = (np.array([stop.pitch_midi for stop in stops_of(one)]) for one in (before, now))
    rise = highs[np.newaxis] - lows[:, np.newaxis]
    size = np.abs(rise)
    costs = size / 6.0 + 4.0 * (size > 9)
    if climbs:
        costs = costs + 0.9 * (rise < 0)
    if octave:
        costs = np.where(rise == 12, 0.0, costs)
    if leap is not None:
        costs = np.where(rise == leap, 0.0, WRONG_LEAP + costs)
    return np.asarray(costs + UNRESOLVED * (size > 2) if resolves else costs)


@cache
def _shifts(before: int, now: int) -> Floats:
    """What the hand's way along the neck costs, in a quarter note's time."""
    low, high = ([BASS_GUITAR.fret_mm(stop.hand) for stop in stops_of(one)] for one in (before, now))
    way_mm = np.abs(np.array(high)[np.newaxis] - np.array(low)[:, np.newaxis])
    return np.asarray(np.where(way_mm > 0, SHIFT_COST + SHIFT_COST_MM * way_mm, 0.0))


@cache
def _crossings(before: int, now: int) -> Floats:
    low, high = (np.array([stop.place.string for stop in stops_of(one)]) for one in (before, now))
    return np.asarray(CROSSING_COST * np.abs(high[np.newaxis] - low[:, np.newaxis]))

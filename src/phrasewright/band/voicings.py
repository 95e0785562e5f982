"""Chord voicings found on the neck, joined so that the voices move little.

Every voicing is a grip on neighbouring strings of a standard guitar that one hand can hold: each string's fret lies
within the hand's span, and one finger may bar several strings at the lowest fret. Which tones it holds is ``tones``'s
affair; where they lie is searched, not looked up. The chain of grips with the least movement is found by dynamic
programming. On four neighbouring strings these come out as the usual drop-2 forms (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product
from math import inf
from random import Random

from phrasewright.band.tones import essential_degrees, spelled
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import Pitch

GUITAR = instrument("guitar")
STRING_SETS = ((1, 2, 3, 4), (2, 3, 4, 5), (1, 2, 3), (2, 3, 4), (3, 4, 5), (1, 3), (2, 4), (3, 5))
LOWEST_FRET, HIGHEST_FRET = 1, 14  # no open strings, so that every grip can be damped and moved
MOST_FRETS = 4  # from the lowest to the highest fret of a grip
MOST_STRETCH_MM = 115.0  # four frets at the first fret are 140 mm, at the fifth 111 mm on a 648 mm neck
FINGERS = 4
LOWEST_MIDI, HIGHEST_MIDI = 50, 76  # D3 to E5: above the bass, mostly below a lead
HOME_TOP_MIDI = 65  # F4 on top leaves the lead its octave; what lies above counts double
KEPT = 24  # grips of one chord that the search carries on with
_NOISE = 1.0  # how far chance may move the choice, in semitones of movement


@dataclass(frozen=True, slots=True, kw_only=True)
class Voicing:
    """A grip. places: lowest string number last, that is rising in pitch; degrees: what each string sounds."""

    places: tuple[StringFret, ...]
    pitches: tuple[Pitch, ...]
    degrees: tuple[Degree, ...]


def grip_fingers(places: Sequence[StringFret]) -> int:
    """Fingers a grip needs: one bars every string at the lowest fret, the others press one string each."""
    lowest = min(place.fret for place in places)
    return 1 + sum(place.fret > lowest for place in places)


def is_playable(places: Sequence[StringFret], guitar: Instrument = GUITAR) -> bool:
    """Whether one hand can hold the grip: on the neck, one fret a string, within span and stretch, four fingers."""
    frets = [place.fret for place in places]
    strings = [place.string for place in places]
    if len(set(strings)) != len(strings) or not all(0 < fret <= guitar.frets for fret in frets):
        return False
    wide = max(frets) - min(frets) > MOST_FRETS or guitar.stretch_mm(min(frets), max(frets)) > MOST_STRETCH_MM
    return not wide and grip_fingers(places) <= FINGERS


@lru_cache(maxsize=512)
def voicings_of(chord: Chord) -> tuple[Voicing, ...]:
    """Grips for a chord, the best first: complete ones on the strings that suit it, never empty."""
    tones = essential_degrees(chord, 4)
    if len(tones) < 3:
        tones = (*tones, tones[-1])  # a power chord doubles its root on three strings, a lone root sounds in octaves
    found = [grip for strings in STRING_SETS if len(strings) == len(tones) for grip in _grips(chord, tones, strings)]
    return tuple(sorted(found, key=_awkwardness)[:KEPT])


def lead_voices(chords: Sequence[Chord], *, rng: Random) -> tuple[Voicing, ...]:
    """A grip for each chord in turn, the voices moving as little as they can."""
    if not chords:
        return ()
    own = _own_costs(chords, rng)
    costs, trail = _search(chords, own, list(own[0]))
    return _walked_back(chords, trail, _cheapest(costs))


def lead_voices_round(chords: Sequence[Chord], *, rng: Random) -> tuple[Voicing, ...]:
    """The same for chords that go round: the way from the last grip to the first counts like every other."""
    if not chords:
        return ()
    own = _own_costs(chords, rng)
    home = _movements(chords[-1], chords[0])
    found: list[tuple[float, int, list[list[int]]]] = []
    for first, cost in enumerate(own[0]):
        start = [cost if index == first else inf for index in range(len(own[0]))]
        costs, trail = _search(chords, own, start)
        closed = [cost + row[first] for cost, row in zip(costs, home, strict=True)]
        last = _cheapest(closed)
        found.append((closed[last], last, trail))
    _, last, trail = min(found, key=lambda turn: turn[0])
    return _walked_back(chords, trail, last)


def movement(first: Voicing, second: Voicing) -> float:
    """Semitones the voices move in all, top voices paired, the top one counted twice; unpaired voices move 4."""
    pairs = list(zip(reversed(first.pitches), reversed(second.pitches), strict=False))
    moved = sum(abs(low.midi - high.midi) for low, high in pairs)
    top = abs(pairs[0][0].midi - pairs[0][1].midi)
    return float(moved + top + 4 * abs(len(first.pitches) - len(second.pitches)))


@lru_cache(maxsize=1024)
def _movements(first: Chord, second: Chord) -> tuple[tuple[float, ...], ...]:
    """``movement`` from every grip of one chord, by row, to every grip of another."""
    return tuple(tuple(movement(low, high) for high in voicings_of(second)) for low in voicings_of(first))


def _own_costs(chords: Sequence[Chord], rng: Random) -> list[list[float]]:
    """What each grip of each chord costs by itself, taste of the day included; the first chord's count in full."""
    options = [voicings_of(chord) for chord in chords]
    taste = {grip: _NOISE * rng.random() for choices in options for grip in choices}
    weights = [1.0, *[0.4] * (len(chords) - 1)]
    return [
        [weight * _awkwardness(grip) + taste[grip] for grip in choices]
        for weight, choices in zip(weights, options, strict=True)
    ]


def _search(
    chords: Sequence[Chord], own: Sequence[Sequence[float]], costs: list[float]
) -> tuple[list[float], list[list[int]]]:
    """Least cost of each grip of the last chord, and for every later chord the best grip before each of its own."""
    trail: list[list[int]] = []
    for (before, now), extra in zip(pairwise(chords), own[1:], strict=True):
        step, back = [], []
        for column, cost_here in zip(zip(*_movements(before, now), strict=True), extra, strict=True):
            totals = [cost + moved for cost, moved in zip(costs, column, strict=True)]
            best = _cheapest(totals)
            step.append(totals[best] + cost_here)
            back.append(best)
        costs = step
        trail.append(back)
    return costs, trail


def _cheapest(costs: Sequence[float]) -> int:
    return min(range(len(costs)), key=costs.__getitem__)


def _walked_back(chords: Sequence[Chord], trail: Sequence[Sequence[int]], last: int) -> tuple[Voicing, ...]:
    indexes = [last]
    for back in reversed(trail):
        indexes.append(back[indexes[-1]])
    return tuple(voicings_of(chord)[index] for chord, index in zip(chords, reversed(indexes), strict=True))


def _grips(chord: Chord, tones: Sequence[Degree], strings: Sequence[int]) -> list[Voicing]:
    """Every playable way to lay the tones on the strings, one tone a string, rising."""
    rising = sorted(strings, reverse=True)
    grips = []
    for low in range(LOWEST_FRET, HIGHEST_FRET - MOST_FRETS + 1):
        frets = range(low, low + MOST_FRETS + 1)
        by_string = [_sounding(chord, tones, string, frets) for string in rising]
        for choice in product(*by_string):
            places = tuple(StringFret(string, fret) for string, (fret, _) in zip(rising, choice, strict=True))
            degrees = tuple(degree for _, degree in choice)
            if min(place.fret for place in places) != low or set(degrees) != set(tones):
                continue
            pitches_midi = [GUITAR.midi_at(place) for place in places]
            if _in_register(pitches_midi) and is_playable(places):
                grips.append(_voicing(chord, places, degrees))
    return grips


def _sounding(chord: Chord, tones: Sequence[Degree], string: int, frets: range) -> list[tuple[int, Degree]]:
    open_midi = GUITAR.midi_at(StringFret(string, 0))
    wanted = {(chord.root.pitch_class + degree.semitones) % 12: degree for degree in tones}
    return [(fret, wanted[(open_midi + fret) % 12]) for fret in frets if (open_midi + fret) % 12 in wanted]


def _in_register(pitches_midi: Sequence[int]) -> bool:
    rises = all(low < high for low, high in pairwise(pitches_midi))
    return rises and pitches_midi[0] >= LOWEST_MIDI and pitches_midi[-1] <= HIGHEST_MIDI


def _voicing(chord: Chord, places: tuple[StringFret, ...], degrees: tuple[Degree, ...]) -> Voicing:
    pitches = tuple(
        Pitch.from_midi(GUITAR.midi_at(place), spelled(degree, chord.root))
        for place, degree in zip(places, degrees, strict=True)
    )
    return Voicing(places=places, pitches=pitches, degrees=degrees)


def _awkwardness(grip: Voicing) -> float:
    """How little a grip suits: far from home, wide, or with a minor ninth between voices (common practice)."""
    pitches_midi = [pitch.midi for pitch in grip.pitches]
    frets = [place.fret for place in grip.places]
    ninths = sum(high - low == 13 for index, low in enumerate(pitches_midi) for high in pitches_midi[index + 1 :])
    above = pitches_midi[-1] - HOME_TOP_MIDI
    gap = max((high - low for low, high in pairwise(pitches_midi)), default=0)
    return (
        0.35 * abs(above)
        + 0.35 * max(above, 0)
        + 0.8 * (max(frets) - min(frets))
        + 4.0 * ninths
        + (2.0 if gap > 9 else 0.0)
        + (1.5 if pitches_midi[1] - pitches_midi[0] < 3 else 0.0)
    )

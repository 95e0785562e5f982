"""Chord voicings found on the neck of a guitar.

A voicing here is a grip on stopped strings of a standard guitar that one hand can hold: each string's fret lies within
the hand's span, and one finger may bar several strings at the lowest fret. Which tones it holds is ``tones``'s affair;
where they lie is searched, not looked up. ``families`` asks for particular kinds of grip, ``voice_leading`` joins them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Voicing:
    """A chord as it is struck, rising. degrees: what each pitch is; places: where a guitar has it, empty for keys."""

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


@lru_cache(maxsize=1024)
def voicings_of(chord: Chord) -> tuple[Voicing, ...]:
    """Grips for a chord, the best first: complete ones on the strings that suit it, never empty."""
    tones = essential_degrees(chord, 4)
    if len(tones) < 3:
        tones = (*tones, tones[-1])  # a power chord doubles its root on three strings, a lone root sounds in octaves
    found = [grip for strings in STRING_SETS if len(strings) == len(tones) for grip in grips(chord, tones, strings)]
    return best_of(found)


def best_of(found: Iterable[Voicing], home_top_midi: int = HOME_TOP_MIDI) -> tuple[Voicing, ...]:
    """The least awkward grips, best first, as many as the search carries on with."""
    return tuple(sorted(found, key=lambda grip: awkwardness(grip, home_top_midi))[:KEPT])


def grips(
    chord: Chord, tones: Sequence[Degree], strings: Sequence[int], lowest_midi: int = LOWEST_MIDI
) -> list[Voicing]:
    """Every playable way to lay the tones on the strings, one tone a string, rising, all of them heard."""
    rising = sorted(strings, reverse=True)
    found = []
    for low in range(LOWEST_FRET, HIGHEST_FRET - MOST_FRETS + 1):
        frets = range(low, low + MOST_FRETS + 1)
        by_string = [sounding(chord, tones, string, frets) for string in rising]
        for choice in product(*by_string):
            places = tuple(StringFret(string, fret) for string, (fret, _) in zip(rising, choice, strict=True))
            degrees = tuple(degree for _, degree in choice)
            if min(place.fret for place in places) != low or set(degrees) != set(tones):
                continue
            pitches_midi = [GUITAR.midi_at(place) for place in places]
            if rises(pitches_midi, lowest_midi) and is_playable(places):
                found.append(voicing(chord, places, degrees))
    return found


def sounding(chord: Chord, tones: Sequence[Degree], string: int, frets: Iterable[int]) -> list[tuple[int, Degree]]:
    """The frets of a string that sound one of the tones, and which."""
    open_midi = GUITAR.midi_at(StringFret(string, 0))
    wanted = {(chord.root.pitch_class + degree.semitones) % 12: degree for degree in tones}
    return [(fret, wanted[(open_midi + fret) % 12]) for fret in frets if (open_midi + fret) % 12 in wanted]


def rises(pitches_midi: Sequence[int], lowest_midi: int) -> bool:
    """Whether pitches rise from string to string and stay between the bass and the lead."""
    rising = all(low < high for low, high in pairwise(pitches_midi))
    return rising and pitches_midi[0] >= lowest_midi and pitches_midi[-1] <= HIGHEST_MIDI


def voicing(chord: Chord, places: tuple[StringFret, ...], degrees: tuple[Degree, ...]) -> Voicing:
    """A grip's places with the pitches they sound, spelled as degrees of the chord."""
    pitches = tuple(
        Pitch.from_midi(GUITAR.midi_at(place), spelled(degree, chord.root))
        for place, degree in zip(places, degrees, strict=True)
    )
    return Voicing(places=places, pitches=pitches, degrees=degrees)


def awkwardness(grip: Voicing, home_top_midi: int = HOME_TOP_MIDI) -> float:
    """How little a grip suits: far from home, wide, or with a minor ninth between voices (common practice)."""
    pitches_midi = [pitch.midi for pitch in grip.pitches]
    frets = [place.fret for place in grip.places if place.fret]
    ninths = sum(high - low == 13 for index, low in enumerate(pitches_midi) for high in pitches_midi[index + 1 :])
    above = pitches_midi[-1] - home_top_midi
    gap = max((high - low for low, high in pairwise(pitches_midi)), default=0)
    return (
        0.35 * abs(above)
        + 0.35 * max(above, 0)
        + 0.8 * (max(frets) - min(frets) if frets else 0)
        + 4.0 * ninths
        + (2.0 if gap > 9 else 0.0)
        + (1.5 if pitches_midi[1] - pitches_midi[0] < 3 else 0.0)
    )

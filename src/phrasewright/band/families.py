"""Families of voicings: shells, drop-2, triads, open grips, keys.

A family says which tones it takes, on which strings, and what a voicing of it looks like; the voicings are searched, so
that any chord has them. Where a family cannot do a chord the next one of its row in ``FAMILIES`` does. Common practice:

    shells  three strings: the root lowest, over it the third and the seventh, or what the chord has instead
    drop-2  four neighbouring strings: a close chord whose second voice from the top lies an octave down
    triads  three neighbouring strings with the three tones that tell the chord best
    open    four strings or more at the nut, the root lowest, open strings among them; else the same with a barre
    keys    see ``keyboard``
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import product

from phrasewright.band.groove_model import ChordStyle
from phrasewright.band.keyboard import keyboard_voicings
from phrasewright.band.tones import essential_degrees, guide_degrees
from phrasewright.band.voicings import (
    FINGERS,
    GUITAR,
    MOST_STRETCH_MM,
    Voicing,
    awkwardness,
    best_of,
    grip_fingers,
    grips,
    rises,
    sounding,
    voicing,
    voicings_of,
)
from phrasewright.neck.instrument import StringFret
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree

ROOT = Degree(1)
LOWEST_ROOT_MIDI = 40  # E2: shells and open grips have their root on the low strings
SHELL_TOP_MIDI, OPEN_TOP_MIDI = 60, 64  # where their top voice likes to lie
SHELL_STRINGS = ((3, 4, 6), (3, 4, 5), (2, 3, 5), (2, 3, 4))
FOUR_STRINGS = ((1, 2, 3, 4), (2, 3, 4, 5), (3, 4, 5, 6))
THREE_STRINGS = ((1, 2, 3), (2, 3, 4), (3, 4, 5))
MANY_STRINGS = ((1, 2, 3, 4, 5, 6), (1, 2, 3, 4, 5), (1, 2, 3, 4), (2, 3, 4, 5, 6), (2, 3, 4, 5))
OPEN_FRETS = range(5)
BARRE_FRETS = range(1, 8)
DROP_TWO_LOWEST_MIDI = 45  # A2
PERFECT_FIFTH = Degree(5)


@lru_cache(maxsize=4096)
def voicings_in(chord: Chord, style: ChordStyle) -> tuple[Voicing, ...]:
    """Voicings of a chord in a family, the best first; of the next family of its row where it has none. Never empty."""
    return next(found for family in FAMILIES[style] if (found := family(chord)))


def shells(chord: Chord) -> tuple[Voicing, ...]:
    """Root, third and seventh; a chord without a seventh takes its fifth. None for chords of fewer tones."""
    guides = guide_degrees(chord)
    others = [degree for degree in chord.degrees if degree.number == 5][: 2 - len(guides)]
    tones = (ROOT, *guides, *others)
    if ROOT not in chord.degrees or len(tones) < 3:
        return ()
    found = _on(SHELL_STRINGS, chord, tones, LOWEST_ROOT_MIDI)
    return best_of((grip for grip in found if grip.degrees[0] == ROOT), SHELL_TOP_MIDI)


def drop_two(chord: Chord) -> tuple[Voicing, ...]:
    """The four tones that tell the chord best in drop-2 order. None for chords of fewer tones."""
    tones = essential_degrees(chord, 4)
    if len(tones) < 4:
        return ()
    return best_of(grip for grip in _on(FOUR_STRINGS, chord, tones, DROP_TWO_LOWEST_MIDI) if is_drop_two(grip))


def is_drop_two(grip: Voicing) -> bool:
    """Whether the lowest of four voices, moved up an octave, is the second from the top of a close chord."""
    first, second, third, top = (pitch.midi for pitch in grip.pitches)
    return second < third < first + 12 < top < second + 12


def triads(chord: Chord) -> tuple[Voicing, ...]:
    """Three tones on three neighbouring strings. None for chords of fewer tones."""
    tones = essential_degrees(chord, 3)
    return best_of(_on(THREE_STRINGS, chord, tones)) if len(tones) == 3 else ()


def open_grips(chord: Chord) -> tuple[Voicing, ...]:
    """Full grips with open strings at the nut; none where the root is not the lowest tone of any."""
    found = _full_grips(chord, OPEN_FRETS)
    return _fullest(grip for grip in found if is_open_grip(grip.places))


def barre_grips(chord: Chord) -> tuple[Voicing, ...]:
    """Full grips under a barre that one hand can hold."""
    found = (grip for low in BARRE_FRETS for grip in _full_grips(chord, range(low, low + 4)))
    return _fullest(grip for grip in found if is_barre_grip(grip.places))


def is_open_grip(places: Sequence[StringFret]) -> bool:
    """Whether a hand can hold a grip that lets strings sound open: each other string has its own finger, in reach."""
    pressed = [place.fret for place in places if place.fret]
    if len(pressed) == len(places) or len(pressed) > FINGERS:
        return False
    return not pressed or GUITAR.stretch_mm(min(pressed), max(pressed)) <= MOST_STRETCH_MM


def is_barre_grip(places: Sequence[StringFret]) -> bool:
    """Whether a hand can hold a grip of stopped strings, the first finger lying over all of them."""
    frets = [place.fret for place in places]
    wide = GUITAR.stretch_mm(min(frets), max(frets)) > MOST_STRETCH_MM
    return min(frets) > 0 and not wide and grip_fingers(places) <= FINGERS


def _full_grips(chord: Chord, frets: Iterable[int]) -> Iterator[Voicing]:
    """Every way to sound four strings or more, the root lowest, all telling tones among them."""
    tones = essential_degrees(chord, 4)
    if ROOT not in chord.degrees or len(tones) < 2:
        return
    needed = {degree for degree in tones if degree not in (ROOT, PERFECT_FIFTH)} or set(tones)
    tones = tuple(dict.fromkeys((*tones, ROOT)))
    reach = tuple(frets)
    for strings in MANY_STRINGS:
        rising = sorted(strings, reverse=True)
        by_string = [sounding(chord, tones, string, reach) for string in rising]
        by_string[0] = [(fret, degree) for fret, degree in by_string[0] if degree == ROOT]
        for choice in product(*by_string):
            degrees = tuple(degree for _, degree in choice)
            places = tuple(StringFret(string, fret) for string, (fret, _) in zip(rising, choice, strict=True))
            if needed <= set(degrees) and rises([GUITAR.midi_at(place) for place in places], LOWEST_ROOT_MIDI):
                yield voicing(chord, places, degrees)


def _fullest(found: Iterable[Voicing]) -> tuple[Voicing, ...]:
    """The best of full grips, each string that is left out counting as much as a fret of stretch."""
    unlike = {grip.places: grip for grip in found}.values()
    ranked = sorted(unlike, key=lambda grip: awkwardness(grip, OPEN_TOP_MIDI) - 0.8 * len(grip.places))
    return tuple(ranked[:12])


def _on(
    string_sets: Iterable[Sequence[int]], chord: Chord, tones: Sequence[Degree], lowest_midi: int | None = None
) -> Iterator[Voicing]:
    for strings in string_sets:
        yield from grips(chord, tones, strings) if lowest_midi is None else grips(chord, tones, strings, lowest_midi)


FAMILIES: Mapping[ChordStyle, tuple[Callable[[Chord], tuple[Voicing, ...]], ...]] = {
    ChordStyle.VOICINGS: (voicings_of,),
    ChordStyle.FIFTHS: (voicings_of,),
    ChordStyle.SHELLS: (shells, triads, voicings_of),
    ChordStyle.DROP_2: (drop_two, triads, voicings_of),
    ChordStyle.TRIADS: (triads, voicings_of),
    ChordStyle.OPEN: (open_grips, barre_grips, voicings_of),
    ChordStyle.KEYBOARD: (keyboard_voicings,),
}

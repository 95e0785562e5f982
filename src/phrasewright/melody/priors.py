"""How usual each pitch class is over each chord: measured shares.

Two sources. (1) Weimar Jazz Database (456 solos, ODbL), share of each pitch class above the written root over
dominant sevenths (82,448 notes), minor sevenths (49,273) and major sevenths (21,545): docs/sources.md 3.6. (2)
Temperley and de Clercq, *J. New Music Research* 2013, melody profiles of rock over the tonic of the key:
docs/sources.md 3.2; the minor one is in effect the minor pentatonic.

Other chords than the three measured ones borrow a table by the tones they sound:

    minor third, no major third           minor seventh (also m6, m(maj7), half-diminished, diminished)
    major third and minor seventh         dominant (also ninths, thirteenths, augmented sevenths, sixths of that sound)
    major third and major seventh or 6    major seventh
    major third alone (triads)            mean of dominant and major seventh
    no third, major seventh               major seventh
    no third otherwise (5, sus, pedal)    mean of dominant and minor seventh

Then every tone of the chord that alters a degree of its table (b5, #5, b9, bb7, ...) is taken to be as usual as
the plain degree would have been, and the plain one as rare as the altered: the two trade shares. Borrowing and
trading are our design, not measurements.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from math import log2, sqrt

from phrasewright.theory.chord import Chord
from phrasewright.theory.scale import Scale

Shares = tuple[float, ...]  # twelve shares that sum to 1

CHORD_PERCENT: dict[str, Shares] = {
    "dominant": (14.1, 5.2, 9.5, 5.5, 10.1, 8.3, 4.7, 13.2, 5.1, 8.7, 11.1, 4.4),
    "minor-seventh": (13.3, 3.9, 9.9, 13.7, 3.6, 11.7, 4.1, 14.0, 4.4, 7.0, 9.9, 4.5),
    "major-seventh": (13.1, 2.5, 12.7, 3.9, 14.2, 5.9, 4.0, 16.6, 2.8, 10.0, 3.2, 11.2),
}
ROCK_MELODY: dict[str, Shares] = {
    "major": (0.223, 0.001, 0.158, 0.015, 0.194, 0.071, 0.002, 0.169, 0.003, 0.119, 0.008, 0.035),
    "minor": (0.317, 0.001, 0.090, 0.159, 0.046, 0.097, 0.007, 0.131, 0.009, 0.047, 0.087, 0.009),
}
CHANCE = 1 / 12
_PLAIN = {1: 0, 2: 2, 4: 5, 5: 7, 6: 9}


class Idiom(StrEnum):
    """Whose habits weigh the notes."""

    JAZZ = "jazz"  # the chord tables alone
    BLUES = "blues"  # equal parts chord table and rock melody profile over the scale's root


@lru_cache(maxsize=4096)
def shares_over(chord: Chord, idiom: Idiom, scale: Scale) -> Shares:
    """Share of each pitch class above the chord's root, twelve numbers that sum to 1.

    Under BLUES it is the normalised geometric mean of the chord's table and the rock profile of the scale's root
    (major where the scale has a major third, else minor).
    """
    table = chord_shares(chord)
    if idiom is Idiom.JAZZ:
        return table
    profile = ROCK_MELODY["major" if 4 in scale.kind.semitones else "minor"]
    offset = chord.root.pitch_class - scale.root.pitch_class
    return _normalised([sqrt(table[pc] * profile[(pc + offset) % 12]) for pc in range(12)])


def bits_of(share: float) -> float:
    """Information of a share against chance, in bits: log2(share / (1/12)); 0 = as usual as any note."""
    return log2(share / CHANCE)


@lru_cache(maxsize=1024)
def chord_shares(chord: Chord) -> Shares:
    """Share of each pitch class above the root of a chord of any kind, from the three measured tables."""
    sounding = {degree.semitones for degree in chord.degrees}
    ids = _tables_for(sounding)
    tables = [_normalised(list(CHORD_PERCENT[id_])) for id_ in ids]
    shares = [sum(column) / len(tables) for column in zip(*tables, strict=True)]
    plain = dict(_PLAIN)
    plain[3] = 3 if ids == ("minor-seventh",) else 4
    if len(ids) == 1:
        plain[7] = 11 if ids == ("major-seventh",) else 10
    return _normalised(_with_altered_tones(shares, chord, plain, sounding))


def _tables_for(sounding: set[int]) -> tuple[str, ...]:
    major_third, minor_seventh, major_seventh = 4 in sounding, 10 in sounding, 11 in sounding
    if 3 in sounding and not major_third:
        return ("minor-seventh",)
    if major_third and minor_seventh:
        return ("dominant",)
    if major_seventh or (major_third and 9 in sounding):
        return ("major-seventh",)
    return ("dominant", "major-seventh") if major_third else ("dominant", "minor-seventh")


def _with_altered_tones(shares: list[float], chord: Chord, plain: dict[int, int], sounding: set[int]) -> list[float]:
    result = list(shares)
    for degree in chord.degrees:
        usual, altered = plain.get(degree.simple.number), degree.semitones
        if usual is None or usual == altered:
            continue
        result[altered] = max(result[altered], shares[usual])
        if usual not in sounding:
            result[usual] = min(result[usual], shares[altered])
    return result


def _normalised(shares: list[float]) -> Shares:
    total = sum(shares)
    return tuple(share / total for share in shares)

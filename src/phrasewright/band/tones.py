"""Which notes belong to a chord beyond its own: scale tones between them, and the tones a voicing needs most.

The scale over a chord is the usual one for its kind, bent by its own alterations (common practice): major sevenths
take major, dominants mixolydian, minor sevenths dorian, half-diminished locrian, diminished the whole-half scale. The
chords around it have a say: in a minor key the dominant takes the flat second and sixth that they contain.
"""

from __future__ import annotations

from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree, Interval
from phrasewright.theory.pitch import LETTERS, NoteName, Pitch

_SHARP_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def passing_tones(chord: Chord, around: frozenset[int] = frozenset()) -> tuple[NoteName, ...]:
    """The seven names of the chord's scale, from the root up. around: pitch classes of the chords near it."""
    own = {degree.simple.number: degree.simple for degree in reversed(chord.degrees)}
    degrees = [
        own.get(number, _heard(Degree(number, alter), chord, around)) for number, alter in _usual_alters(chord).items()
    ]
    return tuple(spelled(degree, chord.root) for degree in degrees)


def _heard(usual: Degree, chord: Chord, around: frozenset[int]) -> Degree:
    """The usual degree, or its neighbour where only that one is heard around: b2 and b6, #4 under a major third."""
    has = {degree.semitones for degree in chord.degrees}
    neighbours = {
        2: Degree(2, -1) if 10 in has else None,
        4: Degree(4, 1) if 4 in has else None,
        6: Degree(6, -1) if 10 in has or 3 in has else None,
    }
    other = neighbours.get(usual.number) if usual.alter == 0 else None
    root = chord.root.pitch_class
    if other is None or (root + usual.semitones) % 12 in around or (root + other.semitones) % 12 not in around:
        return usual
    return usual if other.semitones in has else other


def _usual_alters(chord: Chord) -> dict[int, int]:
    has = {degree.semitones for degree in chord.degrees}
    minor_third = 3 in has and 4 not in has
    major_seventh = 11 in has
    flat_fifth = 6 in has and 7 not in has
    if minor_third and flat_fifth and 10 in has:
        return {1: 0, 2: -1, 3: -1, 4: 0, 5: -1, 6: -1, 7: -1}
    if minor_third and flat_fifth:
        return {1: 0, 2: 0, 3: -1, 4: 0, 5: -1, 6: -1, 7: -2}
    return {
        1: 0,
        2: 0,
        3: -1 if minor_third else 0,
        4: 0,
        5: -1 if flat_fifth else 1 if 8 in has and 7 not in has else 0,
        6: 0,
        7: 0 if major_seventh or (not minor_third and 10 not in has) else -1,
    }


def tone_numbered(chord: Chord, number: int, around: frozenset[int] = frozenset()) -> NoteName:
    """The chord's own tone of that number, or of its stand-in: a fourth for a third, a sixth or seventh for a sixth.

    Chords without a fifth (or a third) give their root; a minor chord's sixth is its seventh, and so is a dominant's
    where the chords near it hold the flat sixth only. around: pitch classes of the chords near it.
    """
    stand_ins = {3: (3, 4, 2, 1), 5: (5, 1), 6: (6, 13, 7, 5, 1), 7: (7, 6, 5, 1)}
    has = {degree.number: degree for degree in reversed(chord.degrees)}
    if number == 6 and 6 not in has and Degree(3, -1) not in chord.degrees and Degree(5) in chord.degrees:
        sixth = spelled(Degree(6), chord.root)  # the boogie's sixth stands over plain major and dominant chords
        if sixth.pitch_class in {name.pitch_class for name in passing_tones(chord, around)}:
            return sixth
    for stand_in in stand_ins[number]:
        if stand_in in has:
            return spelled(has[stand_in], chord.root)
    return chord.root


def essential_degrees(chord: Chord, most: int) -> tuple[Degree, ...]:
    """The tones that tell a chord from others, most telling first, each pitch class once, at most ``most``.

    Third (or what suspends it), seventh or sixth, changed fifth, extensions with the changed ones first, fifth, root.
    A natural eleventh gives way to the major third in a thirteenth, and the third to it in an eleventh chord.
    """
    degrees = [degree for degree in chord.degrees if degree not in _avoided(chord)]
    ranked = sorted(degrees, key=_rank)
    chosen: dict[int, Degree] = {}
    for degree in ranked:
        chosen.setdefault(degree.semitones, degree)
    return tuple(chosen.values())[:most]


def guide_degrees(chord: Chord) -> tuple[Degree, ...]:
    """The third, or what the symbol has instead, and the seventh or sixth; what the chord lacks is left out.

    A natural eleventh stands for the major third, unless there is a thirteenth (common practice).
    """
    has = {degree.number: degree for degree in chord.degrees if degree not in _avoided(chord)}
    third = next((has[number] for number in (3, 4, 11, 2) if number in has), None)
    seventh = has.get(7) or has.get(6)
    return tuple(degree for degree in (third, seventh) if degree is not None)


def _rank(degree: Degree) -> tuple[float, int]:
    by_number = {3: 0.0, 4: 0.5, 2: 0.6, 7: 1.0, 6: 1.5, 9: 3.0, 13: 2.5, 11: 3.5, 5: 5.0, 8: 6.0, 1: 6.0}
    rank = by_number.get(degree.number, 4.0)
    if degree.number == 5 and degree.alter:
        return 2.0, degree.alter
    changed = degree.number in (9, 11, 13) and degree.alter != 0
    return rank - (0.8 if changed else 0.0), degree.alter


def _avoided(chord: Chord) -> frozenset[Degree]:
    degrees = set(chord.degrees)
    if not {Degree(3), Degree(11)} <= degrees:
        return frozenset()
    return frozenset({Degree(11)} if Degree(13) in degrees else {Degree(3)})


def spell_near(name: NoteName, interval: Interval) -> NoteName:
    """The name an interval away, respelled plainly where it would need more than two accidentals."""
    steps, semitones = interval.steps, interval.semitones
    place = Pitch(name, 4)
    natural = NoteName(LETTERS[(place.diatonic + steps) % 7])
    alter = (name.pitch_class + semitones - natural.pitch_class + 6) % 12 - 6
    if abs(alter) <= 2:
        return NoteName(natural.letter, alter)
    return NoteName.parse(_SHARP_NAMES[(name.pitch_class + semitones) % 12])


def spelled(degree: Degree, root: NoteName) -> NoteName:
    """The name of a degree over a root, respelled plainly where it would need more than two accidentals."""
    return spell_near(root, degree.interval)

"""How far apart two chords of a key are.

Lerdahl, *Tonal Pitch Space* (2001): j steps between the roots on the key's own circle of fifths, plus k pitch classes
that are new at their level of the second chord's basic space (root; root and fifth; triad; scale). docs/sources.md 3.4:
from the tonic of a major key V and IV lie 5 away, vi and iii 7, ii and vii diminished 8.
"""

from __future__ import annotations

from phrasewright.theory.chord import Chord
from phrasewright.theory.key import Key, Mode

_SCALES = {Mode.MAJOR: (0, 2, 4, 5, 7, 9, 11), Mode.MINOR: (0, 2, 3, 5, 7, 8, 10)}
_FIFTH = 4  # scale steps


def chord_distance(first: Chord, second: Chord, key: Key) -> int | None:
    """The distance within a key, >= 0; None when a root lies outside its scale (in minor the natural one)."""
    scale = [(key.tonic.pitch_class + step) % 12 for step in _SCALES[key.mode]]
    roots = first.root.pitch_class, second.root.pitch_class
    if any(root not in scale for root in roots):
        return None
    circle = [scale[step * _FIFTH % 7] for step in range(7)]
    apart = abs(circle.index(roots[0]) - circle.index(roots[1]))
    here, there = _levels(first), _levels(second)
    return min(apart, 7 - apart) + sum(len(new - old) for old, new in zip(here, there, strict=True))


def _levels(chord: Chord) -> tuple[frozenset[int], ...]:
    """Root; root and fifth; triad, as pitch classes. The scale below them is the same for all chords of a key."""
    root = chord.root.pitch_class
    third = _tone(chord, 3, 2, 4)
    fifth = _tone(chord, 5)
    return frozenset({root}), frozenset({root, *fifth}), frozenset({root, *third, *fifth})


def _tone(chord: Chord, *numbers: int) -> frozenset[int]:
    """The first of these degrees that the chord has, as a pitch class."""
    for number in numbers:
        for degree in chord.degrees:
            if degree.number == number:
                return frozenset({(chord.root.pitch_class + degree.semitones) % 12})
    return frozenset()

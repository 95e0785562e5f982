"""The tables of weights: one for each trait, all laid end to end in one vector.

A trait of a grip or a move is a cell of a table, such as (strings apart, interval); the score of a fingering is the
sum of the weights in its cells. Edges cut measured values into the classes of a table: below the first edge is 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from phrasewright.neck.fingering.moments import Ints

STRINGS = 6  # other instruments' strings are spread over these
FRETS = 23
HANDS = 20
REACHES = 6  # open, four fingers, little finger stretched
WAIT_EDGES_S = (0.13, 0.19, 0.3, 0.6)  # of notes outside chords; class 0 is inside one chord
REST_EDGES_S = (-0.03, 0.1)  # still sounding, joined, silence
DURATION_EDGES_S = (0.12, 0.2, 0.35, 0.7)
SURROUND_EDGES = (-14, -11, -9, -7, -5, -3, -1, 1, 3, 5, 7, 9, 12)  # semitones above what the hand covers
HAND_EDGES = (-9, -6, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 10)  # frets
FRET_EDGES = (-7, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 8)
INTERVAL_EDGES = (-7, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 12)  # semitones

_WAITS, _RESTS, _DURATIONS = len(WAIT_EDGES_S) + 2, len(REST_EDGES_S) + 1, len(DURATION_EDGES_S) + 1
_AROUND, _HANDS, _FRETS = (
    len(SURROUND_EDGES) + 1,
    len(HAND_EDGES) + 1,
    len(FRET_EDGES) + 2,
)  # + open: no fret to compare
_APART = 11  # strings from -5 to 5
_WHICH_OPEN = 4  # neither, the first, the second, both

SHAPES: dict[str, tuple[int, ...]] = {
    "string": (STRINGS,),
    "fret": (FRETS,),
    "hand": (HANDS,),
    "reach": (REACHES,),
    "string, fret": (STRINGS, FRETS),
    "reach, string": (REACHES, STRINGS),
    "open, duration": (2, _DURATIONS),
    "low near, hand": (_AROUND,),
    "middle near, hand": (_AROUND,),
    "high near, hand": (_AROUND,),
    "low around, hand": (_AROUND,),
    "middle around, hand": (_AROUND,),
    "high around, hand": (_AROUND,),
    "shift": (_HANDS,),
    "shift, wait": (_WAITS, _HANDS),
    "shift, rest": (_RESTS, _HANDS),
    "shift, open": (_WHICH_OPEN, _HANDS),
    "shift, strings": (_HANDS, 7),
    "strings": (_APART,),
    "strings, interval": (_APART, len(INTERVAL_EDGES) + 1),
    "strings, wait": (_WAITS, _APART),
    "strings, rest": (_RESTS, _APART),
    "strings, open": (_WHICH_OPEN, _APART),
    "frets, strings": (4, _FRETS),
    "frets, wait": (_WAITS, _FRETS),
    "reaches, shift": (3, REACHES, REACHES),
    "reaches, strings": (3, REACHES, REACHES),
    "repeat, wait": (2, _WAITS),
}
_STARTS = dict(zip(SHAPES, np.cumsum([0, *map(math.prod, SHAPES.values())]).tolist(), strict=False))
SIZE = sum(map(math.prod, SHAPES.values()))


def cell(name: str, *coordinates: ArrayLike) -> Ints:
    """Index in the vector of a table's cell; coordinates past its edge are moved to the edge. Arrays broadcast."""
    index: ArrayLike = 0
    for length, coordinate in zip(SHAPES[name], coordinates, strict=True):
        index = np.asarray(index) * length + np.clip(coordinate, 0, length - 1)
    return np.asarray(_STARTS[name] + np.asarray(index), dtype=np.intp)


def classes(values: ArrayLike, edges: Sequence[float]) -> Ints:
    """The class of each value: how many edges lie at or below it."""
    return np.searchsorted(edges, values, side="right")


def tables(vector: Sequence[float]) -> dict[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    """The vector taken apart, for reading and writing. Raises ValueError when it has not ``SIZE`` entries."""
    if len(vector) != SIZE:
        raise ValueError(f"the tables hold {SIZE} weights, got {len(vector)}")
    whole = np.asarray(vector, dtype=float)
    return {
        name: whole[start : start + math.prod(shape)].reshape(shape)
        for (name, shape), start in zip(SHAPES.items(), _STARTS.values(), strict=True)
    }

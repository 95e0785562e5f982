"""Which hand and fingers, once every note has its string and fret: the most comfortable of all that reach them.

The hand prefers to stay, one finger a fret; a stretch of the little finger costs half as much as a shift by one
fret, so that one note outside the hand's own frets is stretched for and a phrase there is moved to. Of equals the index
finger comes first. Exact, in mm; our design, for nobody's fingers are on record.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from phrasewright.neck.fingering.effort import hurry, moved_mm, shift_mm, still_mm, stretched_mm
from phrasewright.neck.fingering.grips import Grips
from phrasewright.neck.fingering.moments import Floats, Moments
from phrasewright.neck.fingering.scores import CLASH_MM
from phrasewright.neck.fingering.solve import best_path
from phrasewright.neck.fingering.traits import clashes

REACH_MM = np.array([0.0, 0.0, 2.0, 1.0, 3.0, 30.0])  # open, index, middle, ring, little, little stretched


def most_comfortable(placed: Sequence[Grips], line: Moments, at_mm: Floats, bound_mm: float) -> list[int]:
    """Index of one grip for each note in playing order.

    placed: each note's grips, all on one string and fret; bound_mm: no move harder than this (``effort``). Raises
    ValueError when none keeps it.
    """
    layers = [-REACH_MM[grips.reach + 1] for grips in placed]
    layers[0] = np.where(stretched_mm(placed[0], at_mm) <= bound_mm, layers[0], -np.inf)
    return best_path(layers, _steps(placed, line, at_mm, bound_mm))


def _steps(placed: Sequence[Grips], line: Moments, at_mm: Floats, bound_mm: float) -> Iterator[Floats]:
    waits_s, chords = line.wait_s.tolist(), line.chord.tolist()
    for index, (before, after) in enumerate(pairwise(placed), 1):
        together = chords[index] == chords[index - 1]
        effort = moved_mm(shift_mm(before, after, at_mm), 1.0 if together else hurry(waits_s[index]))
        if together:
            effort = effort + CLASH_MM * clashes(before, after)
        yield np.where(effort + still_mm(before, after, at_mm) <= bound_mm, -effort, -np.inf)

"""How hard a move is, in mm, for those who want no hard move at all. Our design, not fitted to anybody.

A shift counts 40 mm and its way along the neck, the way more when there is little time. Each string crossed counts 10
mm, and a stretch what it goes beyond 80 mm. So a beginner's hand stays where it can.
"""

from __future__ import annotations

import numpy as np

from phrasewright.neck.fingering.grips import Grips
from phrasewright.neck.fingering.moments import Floats
from phrasewright.neck.instrument import Instrument

STRING_MM = 10.0  # strings of a guitar lie about this far apart at the picking hand
SHIFT_MM = 40.0  # more than crossing three strings
EASY_STRETCH_MM = 80.0  # one finger a fret from fret 5 of a guitar upwards is less (77 mm)
CALM_S = 0.25  # with this much time or more a shift counts as long as it is
_MOST_HURRIED = 4.0


def hurry(wait_s: float) -> float:
    """How much heavier a shift weighs with this much time, 1 to 4."""
    return min(_MOST_HURRIED, max(1.0, CALM_S / max(wait_s, 1e-9)))


def frets_mm(instrument: Instrument) -> Floats:
    """Distance of every fret from the nut, the nut first."""
    return np.array([instrument.fret_mm(fret) for fret in range(instrument.frets + 1)])


def stretch_mm(grips: Grips, at_mm: Floats) -> Floats:
    """From the index finger to the finger that presses, 0 for open strings. at_mm: as ``frets_mm`` gives."""
    return np.where(grips.finger == 0, 0.0, at_mm[grips.fret] - at_mm[grips.hand])


def stretched_mm(grips: Grips, at_mm: Floats) -> Floats:
    """What a stretch counts."""
    return np.maximum(0.0, stretch_mm(grips, at_mm) - EASY_STRETCH_MM)


def shift_mm(before: Grips, after: Grips, at_mm: Floats) -> Floats:
    """The way of the hand, shape (before, after)."""
    return np.asarray(np.abs(at_mm[after.hand][None, :] - at_mm[before.hand][:, None]))


def moved_mm(way_mm: Floats, hurried: float) -> Floats:
    """What a shift of the hand counts. way_mm: as ``shift_mm`` gives; hurried: as ``hurry`` gives."""
    return np.where(way_mm > 0, SHIFT_MM + hurried * way_mm, 0.0)


def still_mm(before: Grips, after: Grips, at_mm: Floats) -> Floats:
    """What does not depend on time: strings crossed and the stretch of the second grip, shape (before, after)."""
    crossed = np.abs(after.string[None, :] - before.string[:, None])
    return np.asarray(STRING_MM * crossed + stretched_mm(after, at_mm)[None, :])

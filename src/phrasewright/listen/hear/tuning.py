"""How a guitar is tuned: as a whole against A4 = 440 Hz, and string by string where places are known.

Steady notes tell: no bend, no vibrato, no slide, a clear pitch for long enough. Each lies so many cents off the nearest
semitone of the tuning; off by half a semitone either way is the same, so the mean is that of directions on a circle
(Mardia & Jupp 2000, "Directional Statistics", ch. 2), trimmed of notes far from it. Standard errors come from the
spread of the notes. A string counts as off where it is so by more than ears let pass (docs/sources.md: about 10 cents)
and by more than chance.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from phrasewright.listen.heard import HeardNote, HeardTechnique
from phrasewright.neck.instrument import StringFret

FloatArray = NDArray[np.float64]

FEWEST = 8  # steady notes that tell a tuning
FEWEST_ON_STRING = 3
SHORTEST_S = 0.12
STEADY_CENTS = 12.0  # spread of a steady note's curve
OUTLIER_CENTS = 20.0
OFF_CENTS, SURE_ERRORS = 8.0, 2.5
SCATTER_CENTS = 2.0  # no two notes are fingered alike: least spread that errors are reckoned from
MOVING = frozenset({HeardTechnique.BEND, HeardTechnique.VIBRATO, HeardTechnique.SLIDE, HeardTechnique.DEAD})


@dataclass(frozen=True, slots=True, kw_only=True)
class StringTuning:
    """One string against the rest of its guitar. cents: off, positive = sharp; error_cents: standard error."""

    string: int
    cents: float
    error_cents: float
    notes: int

    @property
    def is_off(self) -> bool:
        """True when ears would mind it and chance does not explain it."""
        return abs(self.cents) > OFF_CENTS and abs(self.cents) > SURE_ERRORS * self.error_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class TuningHeard:
    """How a take is tuned. cents: of A4 against 440 Hz, -50..50; error_cents: standard error; notes: that told it;
    strings: by number, those that enough notes were played on.
    """

    cents: float
    error_cents: float
    notes: int
    strings: tuple[StringTuning, ...] = ()

    @property
    def a4_hz(self) -> float:
        """The pitch that A4 has."""
        return float(440.0 * 2.0 ** (self.cents / 1200.0))


def tuning_of(notes: Sequence[HeardNote], places: Sequence[StringFret | None] = ()) -> TuningHeard | None:
    """How a take is tuned, None where fewer than ``FEWEST`` steady notes tell. places: of the notes, where known."""
    steady = [index for index, note in enumerate(notes) if _is_steady(note)]
    if len(steady) < FEWEST:
        return None
    pitches = np.array([notes[index].pitch_midi for index in steady])
    trust = np.array([_trust(notes[index]) for index in steady])
    cents, error_cents = _centre(100.0 * pitches, trust)
    off = _off(100.0 * pitches, cents)
    strings = _strings(off, trust, [places[index] for index in steady]) if places else ()
    return TuningHeard(cents=cents, error_cents=error_cents, notes=len(steady), strings=strings)


def _is_steady(note: HeardNote) -> bool:
    if note.duration_s < SHORTEST_S or any(note.mark(technique) for technique in MOVING):
        return False
    heard = np.array(note.curve_cents)
    heard = heard[np.isfinite(heard)]
    return not note.curve_cents or (len(heard) > 5 and float(np.std(heard[2:-2])) < STEADY_CENTS)


def _trust(note: HeardNote) -> float:
    """Weight of a note: its confidence, and more of it the longer it lasts, up to half a second."""
    return note.confidence * min(note.duration_s, 0.5)


def _off(cents: FloatArray, centre: float) -> FloatArray:
    """How far pitches lie from the nearest semitone of a tuning, -50..50."""
    return (cents - centre + 50.0) % 100.0 - 50.0


def _centre(cents: FloatArray, trust: FloatArray) -> tuple[float, float]:
    """The tuning around which pitches lie, and its standard error."""
    turned = np.exp(2j * np.pi * cents / 100.0)
    centre = float(np.angle((trust * turned).sum())) * 100.0 / (2.0 * np.pi)
    for _ in range(4):
        off = _off(cents, centre)
        near = trust / (1.0 + (off / OUTLIER_CENTS) ** 4)
        centre += float(np.average(off, weights=near))
    return (centre + 50.0) % 100.0 - 50.0, _error(_off(cents, centre), near)


def _error(off: FloatArray, trust: FloatArray) -> float:
    """Standard error of the weighted mean of deviations."""
    spread = max(float(np.sqrt(np.average(off**2, weights=trust))), SCATTER_CENTS)
    return float(spread * np.sqrt((trust**2).sum()) / trust.sum())


def _strings(off: FloatArray, trust: FloatArray, places: Sequence[StringFret | None]) -> tuple[StringTuning, ...]:
    """Each string against the median of all strings, so that one that is off does not pull the others with it."""
    notes: defaultdict[int, list[int]] = defaultdict(list)
    for index, place in enumerate(places):
        if place is not None:
            notes[place.string].append(index)
    told = {string: np.array(on) for string, on in sorted(notes.items()) if len(on) >= FEWEST_ON_STRING}
    means = {string: float(np.median(off[on])) for string, on in told.items()}
    usual = float(np.median(list(means.values()))) if len(means) > 2 else 0.0
    return tuple(
        StringTuning(
            string=string,
            cents=means[string] - usual,
            error_cents=1.25 * _error(off[on] - means[string], trust[on]),
            notes=len(on),
        )
        for string, on in told.items()
    )

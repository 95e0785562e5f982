"""Finger a line: the most usual fingering of all, or for beginners the one whose worst move is smallest.

The score of a fingering is a sum of weights learned from players (``weights``) over its grips and moves; the best of
all fingerings is found, not a good one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from phrasewright.errors import NeckError
from phrasewright.neck.fingering.grips import Grips
from phrasewright.neck.fingering.line import FingeredLine, FingeredNote, FingeringWish, LineNote
from phrasewright.neck.fingering.moments import Floats, moments
from phrasewright.neck.fingering.picking import strokes
from phrasewright.neck.fingering.scores import Scores
from phrasewright.neck.fingering.solve import best_path, smallest_worst
from phrasewright.neck.fingering.weights import WEIGHTS
from phrasewright.neck.instrument import Instrument, StringFret

_SLACK_MM = 1e-6
_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_OFFERED = 3  # other frets named in a refusal


def finger_line(
    line: Sequence[LineNote],
    instrument: Instrument,
    wish: FingeringWish | None = None,
    *,
    weights: Floats = WEIGHTS,
) -> FingeredLine:
    """Every note's string, fret, hand and finger, in the order given.

    weights: as ``tables`` lays them out. Raises NeckError for a note that has no place on the neck, or none in the
    wished position. A chord that no hand can hold is fingered as well as can be and reported as ``impossible``.
    """
    if not line:
        return FingeredLine(notes=())
    wish = wish or FingeringWish()
    played = moments(line)
    scores = Scores(played, instrument, wish, weights)
    if scores.homeless:
        raise _homeless(scores.homeless[0], instrument, wish)
    path = _gentlest(scores) if wish.beginner else best_path(scores.layers(), scores.steps())
    chosen = [_note(grips, state) for grips, state in zip(scores.grips(), path, strict=True)]
    picks = strokes([note.place.string for note in chosen], played.chord.tolist(), wish.picking)
    order = played.order.tolist()
    in_given_order = sorted(zip(order, chosen, picks, strict=True), key=lambda row: row[0])
    return FingeredLine(
        notes=tuple(replace(note, pick=pick) for _, note, pick in in_given_order),
        impossible=tuple(sorted(order[index] for index in scores.clashing(path))),
    )


def _gentlest(scores: Scores) -> list[int]:
    """The most usual of the fingerings whose worst move is smallest."""
    efforts, first = list(scores.efforts_mm()), scores.first_effort_mm()
    bound = smallest_worst(efforts, first) + _SLACK_MM
    layers = scores.layers()
    layers[0] = np.where(first <= bound, layers[0], -np.inf)
    steps = (np.where(effort <= bound, step, -np.inf) for effort, step in zip(efforts, scores.steps(), strict=True))
    return best_path(layers, steps)


def _note(grips: Grips, state: int) -> FingeredNote:
    return FingeredNote(
        place=StringFret(int(grips.string[state]), int(grips.fret[state])),
        finger=int(grips.finger[state]),
        hand_fret=int(grips.hand[state]),
    )


def _homeless(pitch_midi: int, instrument: Instrument, wish: FingeringWish) -> NeckError:
    elsewhere = instrument.places_of(pitch_midi)
    if not elsewhere:
        low = min(pitch.midi for pitch in instrument.tuning) + instrument.capo
        high = max(pitch.midi for pitch in instrument.tuning) + instrument.frets
        return NeckError(
            f"{_named(pitch_midi)} cannot be played on {instrument.name}: it sounds {_named(low)} to {_named(high)}.",
        )
    low_fret, high_fret = wish.stay_in or (instrument.capo, instrument.frets)
    return NeckError(
        f"{_named(pitch_midi)} has no place between frets {low_fret} and {high_fret} of {instrument.name}.",
        alternatives=tuple(f"string {place.string}, fret {place.fret}" for place in elsewhere[:_OFFERED]),
    )


def _named(pitch_midi: int) -> str:
    return f"{_NAMES[pitch_midi % 12]}{pitch_midi // 12 - 1} (MIDI {pitch_midi})"

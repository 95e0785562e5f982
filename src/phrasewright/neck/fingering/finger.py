"""Finger a line: the most usual fingering of all, or for beginners the one whose worst move is smallest.

The score of a fingering is a sum of weights learned from players (``weights``) over its grips and moves; the best of
all fingerings is found, not a good one. Players' strings are on record and their fingers are not, so string and fret
come from that search, and where the hand lies on them from a second one for comfort (``comfort``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from phrasewright.errors import NeckError
from phrasewright.neck.fingering.comfort import most_comfortable
from phrasewright.neck.fingering.effort import frets_mm
from phrasewright.neck.fingering.grips import Grips
from phrasewright.neck.fingering.line import FingeredLine, FingeredNote, FingeringWish, LineNote
from phrasewright.neck.fingering.moments import Floats, moments
from phrasewright.neck.fingering.picking import strokes
from phrasewright.neck.fingering.scores import Scores, clashing
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
        number = next(index for index, note in enumerate(line) if note.pitch_midi in scores.homeless)
        raise _homeless(number, line[number], instrument, wish)
    bound_mm = _smallest_bound_mm(scores) if wish.beginner else np.inf
    path = _most_usual(scores, bound_mm)
    placed = [grips.like(state) for grips, state in zip(scores.grips(), path, strict=True)]
    hands = most_comfortable(placed, played, frets_mm(instrument), bound_mm)
    chosen = [_note(grips, state) for grips, state in zip(placed, hands, strict=True)]
    picks = strokes([note.place.string for note in chosen], played.chord.tolist(), wish.picking)
    order = played.order.tolist()
    in_given_order = sorted(zip(order, chosen, picks, strict=True), key=lambda row: row[0])
    return FingeredLine(
        notes=tuple(replace(note, pick=pick) for _, note, pick in in_given_order),
        impossible=tuple(sorted(order[index] for index in clashing(placed, hands, played.chord.tolist()))),
    )


def _smallest_bound_mm(scores: Scores) -> float:
    """The worst move of the gentlest fingering."""
    return smallest_worst(scores.efforts_mm(), scores.first_effort_mm()) + _SLACK_MM


def _most_usual(scores: Scores, bound_mm: float) -> list[int]:
    """The fingering with the highest score among those without a move harder than the bound."""
    layers = scores.layers()
    if np.isinf(bound_mm):
        return best_path(layers, scores.steps())
    layers[0] = np.where(scores.first_effort_mm() <= bound_mm, layers[0], -np.inf)
    moves = zip(scores.efforts_mm(), scores.steps(), strict=True)
    return best_path(layers, (np.where(effort <= bound_mm, step, -np.inf) for effort, step in moves))


def _note(grips: Grips, state: int) -> FingeredNote:
    return FingeredNote(
        place=StringFret(int(grips.string[state]), int(grips.fret[state])),
        finger=int(grips.finger[state]),
        hand_fret=int(grips.hand[state]),
    )


def _homeless(number: int, note: LineNote, instrument: Instrument, wish: FingeringWish) -> NeckError:
    which = f"Note {number + 1} at {note.onset_s:.2f} s, {_named(note.pitch_midi)},"
    elsewhere = instrument.places_of(note.pitch_midi)
    if not elsewhere:
        low = min(pitch.midi for pitch in instrument.tuning) + instrument.capo
        high = max(pitch.midi for pitch in instrument.tuning) + instrument.frets
        return NeckError(
            f"{which} cannot be played on {instrument.name}: it sounds {_named(low)} to {_named(high)}.",
            alternatives=tuple(_named(pitch) for pitch in _octaves(note.pitch_midi, instrument)),
        )
    low_fret, high_fret = wish.stay_in or (instrument.capo, instrument.frets)
    return NeckError(
        f"{which} has no place between frets {low_fret} and {high_fret} of {instrument.name}.",
        alternatives=tuple(f"string {place.string}, fret {place.fret}" for place in elsewhere[:_OFFERED]),
    )


def _octaves(pitch_midi: int, instrument: Instrument) -> list[int]:
    """The nearest octave of a pitch that the instrument has, none when it has none."""
    octaves = [pitch for pitch in range(pitch_midi % 12, 128, 12) if instrument.places_of(pitch)]
    return sorted(octaves, key=lambda pitch: abs(pitch - pitch_midi))[:1]


def _named(pitch_midi: int) -> str:
    return f"{_NAMES[pitch_midi % 12]}{pitch_midi // 12 - 1} (MIDI {pitch_midi})"

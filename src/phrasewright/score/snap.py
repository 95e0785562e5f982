"""Accompaniment at rhythms that can be written: played times drawn to the nearest readable grid."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

from phrasewright.score.model import Part

GRIDS = (Fraction(1, 4), Fraction(1, 6), Fraction(1, 8), Fraction(1, 12))  # quarter notes, coarsest first
LEGATO = Fraction(3, 8)  # quarter notes: a gap shorter than this before the next note is touch, not a rest
SNAP = Fraction(1, 32)  # quarter notes: 16 ms at 120 bpm, below what separates two strokes


def snapped(part: Part, end: Fraction) -> Part:
    """The part with onsets and ends moved to where they can be written; no note vanishes.

    For accompaniment whose times are played, not written. Onsets in each quarter note of time take the coarsest of
    ``GRIDS`` that moves none of them by more than ``SNAP``; an end that nearly meets the next onset is drawn to it,
    other ends take the grid. Notes that share a moment go on sharing it. end: of the score; nothing goes past it.
    """
    onsets = sorted({note.onset for note in part.notes})
    grids = {cell: _grid(list(inside)) for cell, inside in groupby(onsets, key=lambda onset: onset // 1)}

    def moved(moment: Fraction) -> Fraction:
        return _nearest(moment, grids.get(moment // 1, GRIDS[0]))

    notes = []
    for note in part.notes:
        least = grids[note.onset // 1]
        onset = min(moved(note.onset), end - least)
        stop = min(moved(_legato_end(note.end, onsets)), end)
        notes.append(replace(note, onset=onset, duration=stop - onset if stop > onset else least))
    return replace(part, notes=tuple(sorted(notes, key=lambda note: note.onset)))


def _legato_end(end: Fraction, onsets: list[Fraction]) -> Fraction:
    place = bisect_left(onsets, end)
    return onsets[place] if place < len(onsets) and onsets[place] - end <= LEGATO else end


def _grid(moments: list[Fraction]) -> Fraction:
    fits = (grid for grid in GRIDS if all(abs(_nearest(moment, grid) - moment) <= SNAP for moment in moments))
    return next(fits, GRIDS[-1])


def _nearest(moment: Fraction, grid: Fraction) -> Fraction:
    return round(moment / grid) * grid

"""Traits of grips and of moves between them: which cells of the weight tables they fall into.

Strings are counted from the lowest number 1 as sixths of the neck, frets and hands from the capo, shifts of the hand
in frets of a 648 mm neck, so that the tables of a guitar say something about every instrument.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from phrasewright.neck.fingering import tables
from phrasewright.neck.fingering.grips import Grips
from phrasewright.neck.fingering.moments import Ints, Moments
from phrasewright.neck.fingering.tables import cell, classes
from phrasewright.neck.instrument import Instrument

GUITAR_MM = 648.0
_SHORT_SHIFT = 2  # frets
_MIDDLE_OF_HAND = 2  # frets above the index finger

Bools = NDArray[np.bool_]


class Traits:
    """Cells of grips and moves on one instrument; every function returns indexes, shape (traits, grips[, grips])."""

    def __init__(self, instrument: Instrument) -> None:
        opens = [pitch.midi for pitch in instrument.tuning]
        self._strings = len(opens)
        self._capo = instrument.capo
        self._frets_per_mm = instrument.scale_length_mm / GUITAR_MM
        self._low, self._middle, self._high = min(opens), (min(opens) + max(opens)) / 2, max(opens)

    def of_grips(self, grips: Grips) -> Ints:
        """What a grip is, wherever it stands in a line."""
        string, fret, hand = self._string(grips), grips.fret - self._capo, grips.hand - self._capo
        return np.stack(
            [
                cell("string", string),
                cell("fret", fret),
                cell("hand", hand),
                cell("reach", grips.reach + 1),
                cell("string, fret", string, fret),
                cell("reach, string", grips.reach + 1, string),
            ]
        )

    def in_line(self, grips: Grips, line: Moments, index: int) -> Ints:
        """How a grip of note ``index`` lies to its length and its surroundings."""
        above = grips.hand + _MIDDLE_OF_HAND
        duration = classes(line.duration_s[index], tables.DURATION_EDGES_S)
        around = [
            (name, heights[index] - home - above)
            for words, notes in (("near", line.near), ("around", line.wide))
            for name, heights, home in (
                (f"low {words}, hand", notes.low, self._low),
                (f"middle {words}, hand", notes.middle, self._middle),
                (f"high {words}, hand", notes.high, self._high),
            )
        ]
        return np.stack(
            [
                cell("open, duration", grips.finger == 0, duration),
                *(cell(name, classes(beyond, tables.SURROUND_EDGES)) for name, beyond in around),
            ]
        )

    def of_moves(self, before: Grips, after: Grips, interval: int) -> Ints:
        """What a move is, whatever time there is for it."""
        shift, apart, frets, opens = self._move(before, after)
        hands = classes(shift, tables.HAND_EDGES)
        first, second = np.broadcast_arrays(before.reach[:, None] + 1, after.reach[None, :] + 1)
        length = np.where(shift == 0, 0, np.where(np.abs(shift) <= _SHORT_SHIFT, 1, 2))
        return np.stack(
            [
                cell("shift", hands),
                cell("shift, open", opens, hands),
                cell("shift, strings", hands, np.clip(apart, -3, 3) + 3),
                cell("strings", apart + 5),
                cell("strings, interval", apart + 5, classes(interval, tables.INTERVAL_EDGES)),
                cell("strings, open", opens, apart + 5),
                cell("frets, strings", np.abs(apart), frets),
                cell("reaches, shift", length, first, second),
                cell("reaches, strings", np.abs(apart), first, second),
            ]
        )

    def in_time(self, before: Grips, after: Grips, interval: int, wait: int, rest: int) -> Ints:
        """How a move lies to the classes of its wait and rest (``time_classes``)."""
        shift, apart, frets, _ = self._move(before, after)
        hands = classes(shift, tables.HAND_EDGES)
        cells = [
            cell("shift, wait", wait, hands),
            cell("shift, rest", rest, hands),
            cell("strings, wait", wait, apart + 5),
            cell("strings, rest", rest, apart + 5),
            cell("frets, wait", wait, frets),
        ]
        if interval == 0:
            cells.append(cell("repeat, wait", apart == 0, wait))
        return np.stack(cells)

    def _move(self, before: Grips, after: Grips) -> tuple[Ints, Ints, Ints, Ints]:
        """Shift of the hand, strings moved towards the lower pitches, class of frets moved, which are open."""
        moved = (after.hand[None, :] - before.hand[:, None]) * self._frets_per_mm
        shift = (np.sign(moved) * np.ceil(np.abs(moved) - 0.5)).astype(np.intp)
        apart = self._string(after)[None, :] - self._string(before)[:, None]
        opens = (before.finger == 0)[:, None] + 2 * (after.finger == 0)[None, :]
        frets = classes(after.fret[None, :] - before.fret[:, None], tables.FRET_EDGES)
        return shift, apart, np.where(opens == 0, frets, len(tables.FRET_EDGES) + 1), opens

    def _string(self, grips: Grips) -> Ints:
        return np.rint((grips.string - 1) * (tables.STRINGS - 1) / (self._strings - 1)).astype(np.intp)


def time_classes(line: Moments) -> tuple[Ints, Ints]:
    """Classes of wait and rest before each note; wait 0 and rest 0 inside a chord."""
    wait = 1 + classes(line.wait_s, tables.WAIT_EDGES_S)
    rest = classes(line.rest_s, tables.REST_EDGES_S)
    together = np.array([False, *(a == b for a, b in pairwise(line.chord.tolist()))])
    return np.where(together, 0, wait), np.where(together, 0, rest)


def clashes(before: Grips, after: Grips) -> Bools:
    """Whether two notes of one chord, the lower first, cannot be held together: shape (grips, grips).

    One hand, one shape, and strings in order, so that no two notes of a chord share a string.
    """
    apart = (before.hand[:, None] != after.hand[None, :]) | (before.shape[:, None] != after.shape[None, :])
    return np.asarray(apart | (after.string[None, :] >= before.string[:, None]))

"""Grips: every way to sound a pitch, as string, fret, where the hand lies, and finger.

A finger lies on each fret from the index finger's up, and the little finger reaches one fret further; where strings
lie a fifth apart each finger covers two (``box.hand_frets``). So under one hand fingers cannot cross. In a chord each
finger stays on one fret: its grips also say which (the shape of the hand), and all notes of a chord share one shape.
An open string leaves the hand where it pleases.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import product

import numpy as np

from phrasewright.neck.box import hand_frets
from phrasewright.neck.fingering.line import FingeringWish
from phrasewright.neck.fingering.moments import Ints
from phrasewright.neck.hand import FINGERS, LITTLE
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.ladder import strings_between

_ONE_EACH = ((0,), (1,), (2,), (3, 4))  # frets from the index finger's that each finger presses
_TWO_EACH = ((0, 1), (2, 3), (4, 5), (6, 7))


@dataclass(frozen=True, slots=True, kw_only=True)
class Grips:
    """The grips of one pitch, arrays of one length. fret, hand: from the nut; finger, reach: 0 and -1 for open strings.

    reach: the finger counted from 0, one more where it stretches past its own fret. shape: 0 outside chords.
    """

    string: Ints
    fret: Ints
    hand: Ints
    finger: Ints
    reach: Ints
    shape: Ints

    def like(self, chosen: int) -> Grips:
        """The grips on the string and fret of one of them."""
        same = (self.string == self.string[chosen]) & (self.fret == self.fret[chosen])
        return Grips(**{field.name: getattr(self, field.name)[same] for field in fields(self)})


class GripFinder:
    """The grips that an instrument and a wish allow."""

    def __init__(self, instrument: Instrument, wish: FingeringWish) -> None:
        self._instrument = instrument
        self._limit_mm = wish.stretch_limit_mm(instrument)
        lowest, self._last = wish.stay_in or (instrument.capo, instrument.frets)
        self._open = lowest <= instrument.capo
        self._first = max(lowest, instrument.capo + 1)
        wide = hand_frets(instrument, strings_between(instrument, None, None)) > FINGERS
        spans = _TWO_EACH if wide else _ONE_EACH
        shapes = list(product(*spans))
        self._single = [(offset, finger, 0) for finger, own in enumerate(spans, 1) for offset in own]
        self._chord = [
            (offset, finger, number) for number, shape in enumerate(shapes) for finger, offset in enumerate(shape, 1)
        ]
        self._stretch = -1 if wide else LITTLE  # the offset that takes a stretch

    def grips(self, pitch_midi: int, *, in_chord: bool) -> Grips | None:
        """All grips of a pitch, None when there are none."""
        pressing = self._chord if in_chord else self._single
        rows: list[tuple[int, int, int, int, int, int]] = []
        for place in self._instrument.places_of(pitch_midi):
            if place.fret == self._instrument.capo:
                if self._open:
                    rows += [(place.string, place.fret, hand, 0, -1, shape) for hand, shape in self._resting(in_chord)]
            elif self._first <= place.fret <= self._last:
                rows += [
                    (place.string, place.fret, hand, finger, finger - 1 + (offset == self._stretch), shape)
                    for offset, finger, shape in pressing
                    if self._can_reach(hand := place.fret - offset, place.fret)
                ]
        if not rows:
            return None
        string, fret, hands, finger, reach, shape = np.array(rows, dtype=np.intp).T
        return Grips(string=string, fret=fret, hand=hands, finger=finger, reach=reach, shape=shape)

    def _resting(self, in_chord: bool) -> list[tuple[int, int]]:
        """Where the hand may wait while an open string rings."""
        shapes = {shape for _, _, shape in self._chord} if in_chord else {0}
        last = max(self._first, min(self._last, self._instrument.frets - FINGERS + 1))
        return [(hand, shape) for hand in range(self._first, last + 1) for shape in sorted(shapes)]

    def _can_reach(self, hand: int, fret: int) -> bool:
        return hand >= self._first and self._instrument.stretch_mm(hand, fret) <= self._limit_mm

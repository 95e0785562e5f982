"""Scores of grips and moves: sums of learned weights, each kind of move summed once and kept.

A score is the logarithm of how usual something is, up to a constant; what no hand can hold costs ``CLASH``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phrasewright.neck.fingering.effort import frets_mm, hurry, moved_mm, shift_mm, still_mm, stretched_mm
from phrasewright.neck.fingering.grips import GripFinder, Grips
from phrasewright.neck.fingering.line import FingeringWish
from phrasewright.neck.fingering.moments import Floats, Moments
from phrasewright.neck.fingering.traits import Traits, clashes, time_classes
from phrasewright.neck.instrument import Instrument

CLASH = -1000.0  # of two notes of a chord that one hand cannot hold: more than the moves around it can win back
CLASH_MM = 10_000.0
OPEN_BONUS = 4.0  # for each open string when they are preferred; our design

Kind = tuple[int, bool]  # pitch, in a chord


class Scores:
    """Everything a search needs to know about one line. Layers and steps are in playing order."""

    def __init__(self, line: Moments, instrument: Instrument, wish: FingeringWish, weights: Floats) -> None:
        self._line, self._weights = line, weights
        self._at_mm = frets_mm(instrument)
        self._bonus = OPEN_BONUS if wish.prefer_open else 0.0
        self._traits = Traits(instrument)
        finder = GripFinder(instrument, wish)
        self._kinds: list[Kind] = list(zip(line.pitch_midi.tolist(), line.in_chord.tolist(), strict=True))
        found = {kind: finder.grips(kind[0], in_chord=kind[1]) for kind in dict.fromkeys(self._kinds)}
        self.homeless = {kind[0] for kind, grips in found.items() if grips is None}  # pitches without a place
        self._grips = {kind: grips for kind, grips in found.items() if grips is not None}

    def grips(self) -> list[Grips]:
        """The choices for each note. Only for a line whose every note has a place (``homeless`` is empty)."""
        return [self._grips[kind] for kind in self._kinds]

    def layers(self) -> list[Floats]:
        """Scores of each note's grips."""
        lasting = {
            kind: self._weights[self._traits.of_grips(grips)].sum(axis=0) + self._bonus * (grips.finger == 0)
            for kind, grips in self._grips.items()
        }
        return [
            lasting[kind] + self._weights[self._traits.in_line(self._grips[kind], self._line, index)].sum(axis=0)
            for index, kind in enumerate(self._kinds)
        ]

    def steps(self) -> Iterator[Floats]:
        """Scores of the moves between each note and the next."""
        wait, rest = (classes.tolist() for classes in time_classes(self._line))
        lasting: dict[tuple[Kind, Kind], Floats] = {}
        known: dict[tuple[Kind, Kind, int, int], Floats] = {}
        for index in range(1, len(self._kinds)):
            pair = self._kinds[index - 1], self._kinds[index]
            before, after = self._grips[pair[0]], self._grips[pair[1]]
            interval = pair[1][0] - pair[0][0]
            key = (*pair, wait[index], rest[index])
            if key not in known:
                if pair not in lasting:
                    lasting[pair] = self._weights[self._traits.of_moves(before, after, interval)].sum(axis=0)
                timed = self._traits.in_time(before, after, interval, wait[index], rest[index])
                clashing = CLASH * clashes(before, after) if wait[index] == 0 else 0.0
                known[key] = lasting[pair] + self._weights[timed].sum(axis=0) + clashing
            yield known[key]

    def efforts_mm(self) -> Iterator[Floats]:
        """How hard each move is (``effort``)."""
        known: dict[tuple[Kind, Kind], tuple[Floats, Floats]] = {}
        for index in range(1, len(self._kinds)):
            pair = self._kinds[index - 1], self._kinds[index]
            before, after = self._grips[pair[0]], self._grips[pair[1]]
            if pair not in known:
                known[pair] = shift_mm(before, after, self._at_mm), still_mm(before, after, self._at_mm)
            shift, still = known[pair]
            if self._line.chord[index] == self._line.chord[index - 1]:
                yield moved_mm(shift, 1.0) + still + CLASH_MM * clashes(before, after)
            else:
                yield moved_mm(shift, hurry(float(self._line.wait_s[index]))) + still

    def first_effort_mm(self) -> Floats:
        """How far the first note's grips stretch."""
        return stretched_mm(self._grips[self._kinds[0]], self._at_mm)


def clashing(grips: Sequence[Grips], path: Sequence[int], chords: Sequence[int]) -> list[int]:
    """Indexes of the notes whose chosen grip cannot be held together with the note before in their chord."""
    return [
        index
        for index in range(1, len(path))
        if chords[index] == chords[index - 1] and clashes(grips[index - 1], grips[index])[path[index - 1], path[index]]
    ]

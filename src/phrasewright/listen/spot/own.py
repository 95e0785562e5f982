"""Patterns a player made up and came back to.

A pattern is two to eight notes of one phrase, by the semitones between them, wherever they begin. It counts as the
player's own when it comes back more often than chance brings: in a line of n notes, n^c / (c! 2^(b (c-1))) patterns
of b bits are expected to come c times by chance (Poisson counts over the 2^b patterns there are), and that must be
``BY_CHANCE`` or less. The bits are those of its steps (``chance``), of its rhythm where it keeps one, and of the
edges of phrases that it begins and ends with. Runs along the scale and repeated notes count only with an uneven
rhythm of their own, two notes only as phrases of their own. What the shelf explains is left out, and so is what a
better pattern explains: a piece of it, or itself twice.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heapify, heappop, heapreplace
from itertools import pairwise
from math import inf, lgamma, log, log2

import numpy as np

from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.chance import chance_of
from phrasewright.listen.spot.line import Bools, Line, line_of
from phrasewright.listen.spotted import OwnMotif, Sighting

FEWEST_NOTES, MOST_NOTES = 2, 8
FEWEST_TIMES = 3
LONG_NOTES, FEWEST_TIMES_LONG = 5, 2  # so many notes need not come a third time
BY_CHANCE = 0.05
SAME_RHYTHM = 0.75  # share of the times that keep the commonest rhythm
MOST_BITS = 3.0  # of one step in time, and of one edge of a phrase
SCALE_SHARE = 0.95  # of the notes lie in the scale that the take is taken to be in
MOST_SHARED = 1  # notes of it that may belong to another motif
STEP_SEMITONES = 3
BOTH_EDGES = 2.0  # a phrase of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A pattern. starts: in the line; saved_bits: what saying it once only would save, for choosing among patterns."""

    starts: tuple[int, ...]
    saved_bits: float
    same_rhythm: bool


def own_motifs(
    notes: Sequence[PlacedNote], sightings: Sequence[Sighting] = (), *, tuning_cents: float = 0.0
) -> tuple[OwnMotif, ...]:
    """The player's own motifs by first place. notes: by onset; sightings: of shelf motifs among them."""
    line = line_of(notes, tuning_cents)
    taken = np.isin(line.index, [index for sighting in sightings for index in sighting.notes])
    judge = _Judge(line, notes)
    waiting = list(_repeated(line, taken).items())
    heap = [(-inf, number) for number in range(len(waiting))]
    heapify(heap)
    own: list[OwnMotif] = []
    while heap:
        price, number = heap[0]
        intervals, starts = waiting[number]
        found = judge.judged(intervals, _free(starts, len(intervals) + 1, taken))
        if found is None:
            heappop(heap)
        elif -found.saved_bits > price:
            heapreplace(heap, (-found.saved_bits, number))
        else:
            heappop(heap)
            own.append(_own(intervals, found, line))
            for start in found.starts:
                taken[start : start + len(intervals) + 1] = True
    return tuple(sorted(own, key=lambda motif: (motif.places, motif.intervals)))


def _own(intervals: tuple[int, ...], found: _Found, line: Line) -> OwnMotif:
    places = tuple(int(line.index[start]) for start in found.starts)
    return OwnMotif(intervals=intervals, places=places, same_rhythm=found.same_rhythm)


def _repeated(line: Line, taken: Bools) -> dict[tuple[int, ...], list[int]]:
    """Where every pattern that comes more than once begins."""
    found: dict[tuple[int, ...], list[int]] = {}
    for size in range(FEWEST_NOTES, MOST_NOTES + 1):
        here: dict[tuple[int, ...], list[int]] = defaultdict(list)
        intervals = np.diff(line.windows(size), axis=1)
        for start in np.flatnonzero(line.within_phrase(size)).tolist():
            here[tuple(intervals[start].tolist())].append(start)
        fewest = _fewest_times(size)
        free = {pattern: _free(starts, size, taken) for pattern, starts in here.items() if len(starts) >= fewest}
        found |= {pattern: list(starts) for pattern, starts in free.items() if len(starts) >= fewest}
    return found


def _fewest_times(size: int) -> int:
    return FEWEST_TIMES_LONG if size >= LONG_NOTES else FEWEST_TIMES


def _free(starts: Sequence[int], size: int, taken: Bools) -> tuple[int, ...]:
    """Those of rising starts that overlap neither each other nor what is taken."""
    kept: list[int] = []
    for start in starts:
        if (not kept or start >= kept[-1] + size) and np.count_nonzero(taken[start : start + size]) <= MOST_SHARED:
            kept.append(start)
    return tuple(kept)


class _Judge:
    """Whether a pattern of one line is more than chance."""

    def __init__(self, line: Line, notes: Sequence[PlacedNote]) -> None:
        self._line = line
        self._chance = chance_of(line.pitch_midi, _scale(line))
        self._at = [notes[index].at for index in line.index.tolist()]
        steps = Counter(after - before for before, after in pairwise(self._at))
        self._step_bits = {step: min(MOST_BITS, -log2(times / steps.total())) for step, times in steps.items()}
        edge = float(np.mean(line.begins_phrase)) if len(line) else 1.0
        self._edge_bits = min(MOST_BITS, -log2(edge))

    def judged(self, intervals: tuple[int, ...], starts: tuple[int, ...]) -> _Found | None:
        """The pattern at its places, None where it is trivial or chance enough."""
        size = len(intervals) + 1
        if len(starts) < _fewest_times(size):
            return None
        rhythm, times = Counter(self._rhythm(start, size) for start in starts).most_common(1)[0]
        same_rhythm = times >= SAME_RHYTHM * len(starts)
        if _is_plain(intervals) and not (same_rhythm and len(set(rhythm)) > 1):
            return None
        edges = self._edges(starts, size)
        if size == FEWEST_NOTES and edges < BOTH_EDGES:
            return None
        pitches = self._line.pitch_midi[starts[0] : starts[0] + size].tolist()
        bits = self._chance.path_bits(pitches) + self._edge_bits * edges
        if same_rhythm:
            bits += sum(self._step_bits[step] for step in rhythm)
        count = len(starts)
        expected_log2 = count * log2(len(self._line)) - lgamma(count + 1) / log(2) - bits * (count - 1)
        if expected_log2 > log2(BY_CHANCE):
            return None
        return _Found(starts=starts, saved_bits=bits * (count - 1), same_rhythm=same_rhythm)

    def _rhythm(self, start: int, size: int) -> tuple[Fraction, ...]:
        return tuple(after - before for before, after in pairwise(self._at[start : start + size]))

    def _edges(self, starts: tuple[int, ...], size: int) -> float:
        """How many edges of phrases it has on average over its places, 0..2."""
        first = np.array(starts)
        return float(self._line.begins_phrase[first].mean() + self._line.ends_phrase[first + size - 1].mean())


def _scale(line: Line) -> set[int]:
    """The commonest pitch classes that make up nearly all notes."""
    heard = Counter((line.pitch_midi % 12).tolist())
    inside: set[int] = set()
    reached = 0
    for pitch_class, times in heard.most_common():
        if reached >= SCALE_SHARE * len(line):
            break
        inside.add(pitch_class)
        reached += times
    return inside


def _is_plain(intervals: tuple[int, ...]) -> bool:
    """True for one repeated note and for a run along the scale."""
    up = all(0 < interval <= STEP_SEMITONES for interval in intervals)
    down = all(-STEP_SEMITONES <= interval < 0 for interval in intervals)
    return up or down or not any(intervals)

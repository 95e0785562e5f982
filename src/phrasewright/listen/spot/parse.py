"""The set of matches that explains a line best: exact weighted interval scheduling.

Matches may not overlap, but for one note: the last of one may be the first of the next where both lie there note for
note and have three notes or more. Of all such sets the one worth most is found by dynamic programming over the line. A
motif that is a mere piece of a long run up or down the scale is no motif: it is taken out first.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from phrasewright.listen.spot.line import LONG_STEP, Ints, Line
from phrasewright.listen.spot.matches import Match

RUN_NOTES = 8  # one way by scale steps: longer than any motif and a note on either side
RUN_STEP = 3  # semitones; the widest step of a pentatonic scale
FEWEST_TO_SHARE = 3


def best_parse(found: Sequence[Match], line: Line) -> tuple[Match, ...]:
    """The matches, by first note, that together are worth most."""
    runs = _runs(line)
    kept = sorted((match for match in found if not _is_run(match, runs)), key=_order)
    best: list[tuple[float, int]] = [(0.0, -1)] * (len(line) + 1)  # by end: worth of the best set, its last match
    sharing: dict[int, tuple[float, int]] = {}
    before: list[int] = []
    done = 0
    for number, match in enumerate(kept):
        for end in range(done + 1, match.last + 1):  # nothing new ends between the last match and this one
            best[end] = max(best[end], best[end - 1], key=lambda one: one[0])
        done = max(done, match.last)
        worth, previous = best[match.first]
        if _shares(match) and match.first in sharing and sharing[match.first][0] > worth:
            worth, previous = sharing[match.first]
        before.append(previous)
        total = worth + match.worth
        if total > best[match.last + 1][0]:
            best[match.last + 1] = (total, number)
        if _shares(match) and total > sharing.get(match.last, (0.0, -1))[0]:
            sharing[match.last] = (total, number)
    return _followed(kept, before, max(best, key=lambda one: one[0])[1])


def _followed(kept: Sequence[Match], before: Sequence[int], last: int) -> tuple[Match, ...]:
    chosen = []
    while last >= 0:
        chosen.append(kept[last])
        last = before[last]
    return tuple(reversed(chosen))


def _order(match: Match) -> tuple[object, ...]:
    return match.last, match.wrong, -match.worth, match.first, match.variant.letter


def _shares(match: Match) -> bool:
    return match.wrong == 0 and len(match.notes) >= FEWEST_TO_SHARE


def _runs(line: Line) -> Ints:
    """The number of the long run that each step from note to note belongs to, 0 for none."""
    moves = np.diff(line.pitch_midi)
    number = np.zeros(len(moves), dtype=np.int64)
    if len(line) < RUN_NOTES:
        return number
    joined = (np.abs(moves) <= RUN_STEP) & ~line.begins_phrase[1:]
    joined &= line.steps_s < LONG_STEP * line.usual_step_s
    way = np.where(joined, np.sign(moves), 0)
    turns = [0, *(np.flatnonzero(np.diff(way)) + 1).tolist(), len(way)]
    for run, (start, end) in enumerate(pairwise(turns), 1):
        if way[start] and end - start + 1 >= RUN_NOTES:
            number[start:end] = run
    return number


def _is_run(match: Match, runs: Ints) -> bool:
    steps = runs[match.first : match.last]
    return bool(steps[0]) and bool((steps == steps[0]).all())

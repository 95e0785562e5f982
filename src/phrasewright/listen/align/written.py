"""Where a written line begins in a take: the lag and tempo at which most of its pitches come at their times.

All pairs of a written and a heard note of the same pitch class vote for the time between them, at every tempo within
reach; the fullest 50 ms win. Where choruses repeat, the lag nearest to the expected offset does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.even import clock_s
from phrasewright.listen.align.pairing import whole_midi
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import OffsetSource, TakeClock
from phrasewright.score.model import Note
from phrasewright.score.performance import Performance
from phrasewright.units import SEMITONES_PER_OCTAVE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

REACH_S = 20.0  # either side of the expected offset
CELL_S, BLUR_S = 0.01, 0.05
STRETCH_REACH = 0.036
HEAD_S = 60.0  # of the take that votes
LIKELY_S, LIKELY_WORTH = 1.0, 0.1  # how much of all votes an expected offset is worth, and how far it reaches
STRETCH_WORTH = 0.05


def find_line(
    written: Sequence[Note],
    heard: Sequence[HeardNote],
    performance: Performance,
    *,
    expected_s: float,
    tuning_cents: float = 0.0,
) -> TakeClock | None:
    """The clock on which a line lies best; None when not a single pitch is the same."""
    head = [note for note in heard if note.onset_s <= heard[0].onset_s + HEAD_S and not note.is_dead]
    start = TakeClock(performance=performance, offset_s=0.0, source=OffsetSource.LINE)
    wanted_s = clock_s((note.onset for note in written), start)
    onsets_s = np.array([note.onset_s for note in head])
    sounding = np.array([whole_midi(note, tuning_cents) for note in head], dtype=np.int64)
    pitches = np.array([note.pitch.midi for note in written], dtype=np.int64)
    same = (sounding - pitches[:, None]) % SEMITONES_PER_OCTAVE == 0
    rows, columns = np.nonzero(same & (np.abs(onsets_s - wanted_s[:, None] - expected_s) <= 2.0 * REACH_S))
    if not len(rows):
        return None
    middle_s = float(np.median(onsets_s)) - expected_s
    span_s = max(float(np.ptp(onsets_s)), 1.0)
    steps = int(np.ceil(STRETCH_REACH * span_s / BLUR_S))
    best, found = -np.inf, start
    cells = np.arange(-REACH_S, REACH_S + CELL_S / 2, CELL_S)
    likely = LIKELY_WORTH * len(head) * np.exp(-np.abs(cells) / LIKELY_S)
    kernel = np.ones(round(BLUR_S / CELL_S))
    for step in range(-steps, steps + 1):
        stretch = 1.0 + STRETCH_REACH * step / steps
        lags_s = onsets_s[columns] - middle_s - expected_s - stretch * (wanted_s[rows] - middle_s)
        votes = np.histogram(lags_s, bins=np.append(cells, cells[-1] + CELL_S) - CELL_S / 2)[0]
        score = np.convolve(votes, kernel, mode="same") + likely
        score -= STRETCH_WORTH * len(head) * abs(stretch - 1.0) / STRETCH_REACH
        place = int(score.argmax())
        if score[place] > best:
            best = float(score[place])
            offset_s = expected_s + float(cells[place]) + middle_s * (1.0 - stretch)  # the votes are for the middle
            found = TakeClock(performance=performance, offset_s=offset_s, stretch=stretch, source=OffsetSource.LINE)
    return found

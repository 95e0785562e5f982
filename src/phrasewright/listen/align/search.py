"""Where the beat lies in a take when nothing but its notes tells: metrical likelihood with a prior on the offset.

Notes like beats best, then half-beats, then finer places. For every offset, tempo and swing within reach the first part
of a take is weighed so, together with how likely that offset and tempo are beforehand; the best is kept. The peaks of
the likelihood are a beat or half a beat apart, so it is the prior that tells them apart: a bare grid cannot know a
player who always drags from a slow sound card. Shares of the places and widths are set by judgement, near those of
soloists in docs/sources.md 3.6; the idea of a prior on latency was measured before: 0.3 per cent gross errors on common
lines, 30 on lines off the beat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.even import scale_of, swung
from phrasewright.listen.placed import OffsetSource, TakeClock
from phrasewright.score.model import Measure
from phrasewright.score.performance import Performance
from phrasewright.theory.meter import Meter

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

HEAD_S, HEAD_NOTES = 24.0, 16  # what is searched: so many seconds from the first note on, or so many notes
OFFSET_STEP_S, STRETCH_REACH, BLUR_S = 0.005, 0.036, 0.012
SHIFTS = (0.0, 0.04, 0.08, 0.115, 0.15, 0.19, 0.22, 0.25)  # of the half-beat: straight to 3 to 1
SHARES_IN_TWO = {0.0: 0.42, 0.5: 0.38, 0.25: 0.06, 0.75: 0.06}
SHARES_IN_THREE = {1 / 3: 0.04, 2 / 3: 0.04}
SHARES_COMPOUND = {0.0: 0.36, 1 / 3: 0.26, 2 / 3: 0.26, 1 / 6: 0.04, 1 / 2: 0.04, 5 / 6: 0.04}
NOTE_SD_S = 0.025  # soloists': docs/sources.md 5
STRAY = 0.05  # share of notes that lie anywhere
CELLS = 256
TEMPER = 0.5  # notes of one phrase are not independent witnesses
APART_S = 0.04  # offsets nearer than this are one answer
SWING_SD = 0.15  # of the half-beat's shift around the groove's


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetPrior:
    """Where the score's zero is expected in a take, in s. reach_s: no offset further from it is tried.

    For a take that was recorded while the track ran from its start, that is the length of the count-in and a latency
    of about 0.1 s; measured latencies of devices lie between -20 and 300 ms.
    """

    expected_s: float
    sd_s: float = 0.12
    reach_s: float = 0.5
    stretch: float = 1.0
    stretch_sd: float = 0.008


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """clock: the best found; confidence: odds, 0..1, that the beat does not lie elsewhere."""

    clock: TakeClock
    confidence: float


def head_of(onsets_s: FloatArray) -> int:
    """How many notes the first part of a take has."""
    return max(int(np.searchsorted(onsets_s, onsets_s[0] + HEAD_S)), min(HEAD_NOTES, len(onsets_s)))


def find_beat(
    onsets_s: FloatArray,
    measures: Sequence[Measure],
    performance: Performance,
    prior: OffsetPrior,
    *,
    source: OffsetSource = OffsetSource.GRID,
) -> Guess:
    """The offset, tempo and swing that the first notes speak for. onsets_s: (n,), rising, n > 0."""
    head_s = onsets_s[: head_of(onsets_s)]
    meter = max((measure.meter for measure in measures), key=lambda meter: meter.bar)
    swings = meter.pulse == 1
    shifts = np.array(SHIFTS if swings else SHIFTS[:1])
    tables = np.array([_table(meter, shift, 60.0 / performance.tempo_bpm) for shift in shifts])
    swing_cost = ((shifts - performance.swing_shift) / SWING_SD) ** 2 / 2.0 if swings else np.zeros(1)
    offsets_s = prior.expected_s + np.arange(-prior.reach_s, prior.reach_s + OFFSET_STEP_S / 2, OFFSET_STEP_S)
    prior_cost = ((offsets_s - prior.expected_s) / prior.sd_s) ** 2 / 2.0
    stretches = _stretches(float(np.ptp(head_s)), prior)
    scores = np.empty((len(stretches), len(shifts), len(offsets_s)))
    beats = _Beats.of(measures, performance, meter)
    for at, stretch in enumerate(stretches):
        cells = beats.cells((head_s - offsets_s[:, None]) / stretch)
        cost = prior_cost + ((stretch - prior.stretch) / prior.stretch_sd) ** 2 / 2.0
        for which, table in enumerate(tables):
            scores[at, which] = TEMPER * table[cells].sum(axis=1) - cost - swing_cost[which]
    row, column, place = (int(at) for at in np.unravel_index(int(scores.argmax()), scores.shape))
    middle_s = (float(head_s.mean()) - prior.expected_s) / prior.stretch
    lags_s = offsets_s[None, :] + (stretches[:, None] - prior.stretch) * middle_s  # of a note in the middle
    elsewhere = np.abs(lags_s - lags_s[row, place]) > APART_S
    best = scores.max(axis=1)
    odds = np.exp(best - float(best.max()))
    confidence = float(odds[~elsewhere].sum() / odds.sum())
    clock = TakeClock(
        performance=swung(performance, float(shifts[column])) if swings else performance,
        offset_s=float(offsets_s[place]),
        stretch=float(stretches[row]),
        source=source,
    )
    return Guess(clock=clock, confidence=confidence)


def _stretches(span_s: float, prior: OffsetPrior) -> FloatArray:
    step = BLUR_S * 2.0 / max(span_s, 1.0)
    steps = int(np.ceil(STRETCH_REACH / step))
    return np.asarray(prior.stretch + step * np.arange(-steps, steps + 1), dtype=np.float64)


def _table(meter: Meter, shift: float, quarter_s: float) -> FloatArray:
    """Log-likelihood of a note at each cell of a beat, against one that lies anywhere."""
    if meter.is_compound:
        places = dict(SHARES_COMPOUND)
    else:
        swung_by = {0.0: 0.0, 0.25: shift / 2, 0.5: shift, 0.75: shift / 2}
        places = {place + swung_by[place]: share for place, share in SHARES_IN_TWO.items()}
        for place, share in SHARES_IN_THREE.items():
            places[place] = places.get(place, 0.0) + share
    width = NOTE_SD_S / (float(meter.pulse) * quarter_s)
    phase = (np.arange(CELLS) + 0.5) / CELLS
    density = np.full(CELLS, STRAY)
    for place, share in places.items():
        off = (phase - place + 0.5) % 1.0 - 0.5
        density += (1.0 - STRAY) * share * np.exp(-((off / width) ** 2) / 2.0) / (width * np.sqrt(2.0 * np.pi))
    return np.asarray(np.log(density))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Beats:
    """From performed seconds to places in the beat."""

    written: FloatArray
    performed_s: FloatArray
    bars: FloatArray
    pulse: float

    @classmethod
    def of(cls, measures: Sequence[Measure], performance: Performance, meter: Meter) -> _Beats:
        written, performed = scale_of(performance, measures[-1].end)
        bars = np.array([float(measure.onset) for measure in measures])
        return cls(written=written, performed_s=performed, bars=bars, pulse=float(meter.pulse))

    def cells(self, performed_s: FloatArray) -> NDArray[np.int64]:
        """Which cell of the beat each moment lies in."""
        quarters = np.interp(performed_s, self.performed_s, self.written)
        bar = self.bars[np.clip(np.searchsorted(self.bars, quarters, side="right") - 1, 0, None)]
        phase = ((quarters - bar) / self.pulse) % 1.0
        return np.minimum((phase * CELLS).astype(np.int64), CELLS - 1)

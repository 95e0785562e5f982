"""Beats of a recording, from the strength of its onsets and a few taps.

Exact dynamic programming over (frame, tempo): a beat is worth the strength of the onset there; from one beat to the
next the tempo may move a little (``TEMPO_STEP``) and the beat may lie a little beside where the tempo puts it
(``JITTER_S``); while the teacher taps, beats lie by the taps. The shape is that of Ellis (2007), "Beat tracking by
dynamic programming", J. New Music Research 36(1), with the tempo as a second dimension, so that it may drift. A
frame's predecessors all lie a shortest beat or more before it, so that many frames are filled in at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter1d

from phrasewright.listen.onset_strength import FRAME_S, OnsetStrength

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from phrasewright.listen.taps import TappedBeat

    FloatArray = NDArray[np.float64]

TEMPO_RANGE = 0.16  # slower and faster than tapped
TEMPO_GRID = 0.01  # from one tempo looked at to the next
TEMPO_STEP = 0.008  # usual change from beat to beat, standard deviation
JITTER_S = 0.010  # usual distance of a played beat from an even one, standard deviation
FARTHEST_JITTERS = 3
ONSET_WORTH = 1.5  # of a beat on a strong onset, against the costs of tempo and jitter
TAP_S = 0.045  # a tap beside its beat: 30 ms for a careful tapper, and a lead (Repp 2005)
PIN_S = 0.001
TAP_REACH = 0.5  # of a beat
MARK_REACH_S = 0.018  # around a beat that its sound is taken from
FEWEST_MARKED = 4
LEAST_WEIGHT = 0.15  # of a range of frequency that does not mark the beats, against 1 of one that does
SNAP_S = 0.018  # how far the last step looks for the top of an onset


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Anchors:
    """Where beats are known to lie: times_s, each with how surely (spread_s, standard deviation)."""

    times_s: FloatArray
    spread_s: FloatArray
    periods_s: FloatArray


def tap_anchors(taps: TappedBeat) -> Anchors:
    """Taps as anchors; those of an uneven tapper bind less."""
    spread_s = max(TAP_S, taps.scatter * taps.period_s)
    return Anchors(
        times_s=np.array(taps.times_s),
        spread_s=np.full(len(taps.times_s), spread_s),
        periods_s=np.array(taps.periods_s),
    )


def with_pins(anchors: Anchors, pins_s: Sequence[float]) -> Anchors:
    """Anchors with some beats fixed: a pin drives out the taps within half a beat of it."""
    pins = np.array(sorted(pins_s), dtype=np.float64)
    if not len(pins):
        return anchors
    period_s = float(np.median(anchors.periods_s))
    far = [bool(np.abs(pins - time_s).min() > TAP_REACH * period_s) for time_s in anchors.times_s]
    times_s = np.concatenate([anchors.times_s[far], pins])
    spread_s = np.concatenate([anchors.spread_s[far], np.full(len(pins), PIN_S)])
    order = np.argsort(times_s)
    return Anchors(times_s=times_s[order], spread_s=spread_s[order], periods_s=anchors.periods_s)


def track_beats(strength: OnsetStrength, anchors: Anchors) -> FloatArray:
    """Times of all beats of a recording, s, rising, from its start to its end."""
    first = _beats(strength, anchors)
    return _beats(marked(strength, first, anchors), anchors)


def free_beats(strength: OnsetStrength, periods_s: FloatArray) -> FloatArray:
    """Beats at about the lengths given, wherever the onsets put them."""
    return _beats(strength, Anchors(times_s=np.zeros(0), spread_s=np.zeros(0), periods_s=periods_s))


def _beats(strength: OnsetStrength, anchors: Anchors) -> FloatArray:
    frames = _best_path(worth_of(strength, anchors), periods_of(anchors))
    return snapped(frames, strength.values)


def worth_of(strength: OnsetStrength, anchors: Anchors) -> FloatArray:
    """What a beat at each frame is worth: the onset there, less its distance from the anchor it is near."""
    worth: FloatArray = ONSET_WORTH * np.log1p(gaussian_filter1d(strength.values.astype(np.float64), 1.0))
    return worth - _distance_cost(len(worth), anchors)


def marked(strength: OnsetStrength, beats_s: FloatArray, anchors: Anchors) -> OnsetStrength:
    """The strength with those ranges of frequency heard most that mark the tapped beats and not what lies between."""
    low, high = anchors.times_s[0] - anchors.periods_s[0] / 2, anchors.times_s[-1] + anchors.periods_s[-1] / 2
    tapped = beats_s[(beats_s >= low) & (beats_s <= high)]
    if len(tapped) < FEWEST_MARKED:
        return strength
    on = strength.around(tapped, MARK_REACH_S).mean(axis=0)
    between = strength.around((tapped[1:] + tapped[:-1]) / 2, MARK_REACH_S).mean(axis=0)
    contrast = (on - between) / (on + between + 1e-6)
    return strength.weighted(np.maximum(contrast, LEAST_WEIGHT).astype(np.float32))


def _distance_cost(frames: int, anchors: Anchors) -> FloatArray:
    """What a beat costs at each frame for lying beside the anchor it is near; 0 away from anchors."""
    cost = np.zeros(frames)
    if not len(anchors.times_s):
        return cost
    reach_s = TAP_REACH * float(np.median(anchors.periods_s))
    edges = np.concatenate(
        [
            [anchors.times_s[0] - reach_s],
            (anchors.times_s[1:] + anchors.times_s[:-1]) / 2,
            [anchors.times_s[-1] + reach_s],
        ]
    )
    for at, (time_s, spread_s) in enumerate(zip(anchors.times_s, anchors.spread_s, strict=True)):
        first = max(round(max(edges[at], time_s - reach_s) / FRAME_S), 0)
        last = min(round(min(edges[at + 1], time_s + reach_s) / FRAME_S), frames)
        off_s = np.arange(first, last) * FRAME_S - time_s
        off_s = np.maximum(np.abs(off_s) - FRAME_S / 2, 0.0)
        cost[first:last] = off_s**2 / (2 * spread_s**2)
    return cost


def periods_of(anchors: Anchors) -> FloatArray:
    """Beat lengths looked at, in frames (not whole), rising."""
    low = float(anchors.periods_s.min()) / (1 + TEMPO_RANGE)
    high = float(anchors.periods_s.max()) * (1 + TEMPO_RANGE)
    count = int(np.log(high / low) / TEMPO_GRID) + 1
    return np.geomspace(low, high, count) / FRAME_S


def _best_path(worth: FloatArray, periods: FloatArray) -> NDArray[np.int64]:
    """Frames of the best chain of beats, one beat a period from the first to the last."""
    tempos = np.log(periods)
    change = ((tempos[:, None] - tempos[None, :]) / TEMPO_STEP) ** 2 / 2  # [now, before]
    reach = max(int(FARTHEST_JITTERS * JITTER_S / FRAME_S), 1)
    shifts = np.arange(-reach, reach + 1)
    gaps = np.round(periods).astype(np.int64)[:, None] + shifts[None, :]  # [tempo, shift]
    beside = ((gaps - periods[:, None]) * FRAME_S / JITTER_S) ** 2 / 2
    longest, step = int(gaps.max()), int(gaps.min())
    frames, many = len(worth), len(periods)
    best = np.zeros(
        (frames + longest, many)
    )  # the first rows are before the recording: a chain begins there for nothing
    ready = np.zeros((frames + longest, many))  # best before a beat, after the change of tempo
    came_tempo = np.zeros((frames + longest, many), dtype=np.int16)
    came_gap = np.zeros((frames + longest, many), dtype=np.int32)
    came_tempo[:longest] = np.arange(many)
    for first in range(0, frames, step):
        rows = np.arange(first, min(first + step, frames)) + longest
        options = ready[rows[:, None, None] - gaps[None], np.arange(many)[None, :, None]] - beside[None]
        pick = options.argmax(axis=2)
        came_gap[rows] = gaps[np.arange(many)[None, :], pick]
        best[rows] = np.take_along_axis(options, pick[:, :, None], axis=2)[:, :, 0] + worth[rows - longest, None]
        moved = best[rows][:, None, :] - change[None]
        tempo = moved.argmax(axis=2)
        came_tempo[rows] = tempo
        ready[rows] = np.take_along_axis(moved, tempo[:, :, None], axis=2)[:, :, 0]
    return _traced(best, came_tempo, came_gap, longest, step)


def _traced(
    best: FloatArray, came_tempo: NDArray[np.int16], came_gap: NDArray[np.int32], longest: int, step: int
) -> NDArray[np.int64]:
    """Back along the best chain that ends within the last beat."""
    tail = best[max(len(best) - step, longest) :]
    row, tempo = np.unravel_index(int(tail.argmax()), tail.shape)
    at, now = int(row) + len(best) - len(tail), int(tempo)
    chain = []
    while at >= longest:
        chain.append(at - longest)
        at -= int(came_gap[at, now])
        now = int(came_tempo[at, now])
    return np.array(chain[::-1], dtype=np.int64)


def snapped(frames: NDArray[np.int64], strength: NDArray[np.float32]) -> FloatArray:
    """Each beat on the top of the onset it lies on, between frames by a parabola; without an onset as it was."""
    reach = int(SNAP_S / FRAME_S)
    times_s = []
    for frame in frames:
        low, high = max(int(frame) - reach, 1), min(int(frame) + reach, len(strength) - 2)
        top = low + int(strength[low : high + 1].argmax()) if low <= high else int(frame)
        offset = float(top)
        if low < top < high and strength[top] > 1.0:
            before, here, after = (float(value) for value in strength[top - 1 : top + 2])
            offset = top + 0.5 * (before - after) / min(before - 2 * here + after, -1e-9)
        else:
            offset = float(frame)
        times_s.append(offset * FRAME_S)
    return np.array(times_s)

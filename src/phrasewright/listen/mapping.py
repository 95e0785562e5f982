"""From taps and onsets to a beat map: tracked, numbered, held to what was pinned, each beat with its confidence."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.beat_map import Beat, BeatMap
from phrasewright.listen.beats import tap_anchors, track_beats, with_pins
from phrasewright.listen.onset_strength import FRAME_S, RATE
from phrasewright.listen.paced_beats import track_paced
from phrasewright.listen.taps import TapsError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from phrasewright.listen.bar_layout import BarLayout
    from phrasewright.listen.onset_strength import OnsetStrength
    from phrasewright.listen.taps import TappedBeat
    from phrasewright.score.played_chart import PlayedChart

    FloatArray = NDArray[np.float64]

REACH_S = 0.025
CLEAR_SHARE = 0.6  # of the usual strength of a beat: as clear as can be
UNEVEN_SHARE = 0.06  # of a beat, standard deviation from its neighbours' middle that is still usual
QUIET_CONFIDENCE = 0.4  # of an even beat on which nothing begins
GAP_SPREAD = 0.03  # of a beat, from one gap to the next between pins
QUIET = 10.0 ** (-50.0 / 20.0)  # of the peak: where the music has not begun or is over


def map_beats(
    strength: OnsetStrength,
    taps: TappedBeat,
    layout: BarLayout,
    *,
    played: PlayedChart | None = None,
    recording: str = "",
    heard_s: tuple[float, float] | None = None,
    first_beat: int = 1,
    first_bar: int = 1,
    pins: Sequence[Beat] = (),
) -> BeatMap:
    """Map a recording. played: the chart whose tempo marks are followed; heard_s: from when to when there is music;
    first_bar, first_beat: what the first tap is.

    Raises TapsError when the pins contradict each other or the taps.
    """
    first = layout.place(first_bar, first_beat)
    anchors = with_pins(tap_anchors(taps), [pin.time_s for pin in pins])
    if played is None or played.is_steady:
        tracked_s = track_beats(strength, anchors)
    else:
        tapped = float(np.median(played.paces([first + index for index in taps.indices])))
        tracked_s = track_paced(
            strength,
            anchors,
            first_s=taps.times_s[0],
            paces=lambda places: np.array(played.paces([first + int(place) for place in places]), np.float64) / tapped,
        )
    if len(tracked_s) < 2:
        raise TapsError("No beats are found in the recording.", hint="Check that the taps belong to it.")
    known = _known(tracked_s, taps, first, pins, layout)
    times_s, first_place = _filled(strength, tracked_s, known, played)
    sure = _confidence(strength, times_s)
    pinned = {layout.place(pin.bar, pin.beat): pin.time_s for pin in pins}
    low_s, high_s = (0.0, strength.length_s) if heard_s is None else heard_s
    beats = []
    for place, (time_s, confidence) in enumerate(zip(times_s, sure, strict=True), start=first_place):
        time_s = pinned.get(place, time_s)
        if layout.end is not None and place >= layout.end:
            break
        bar, beat = layout.at(place)
        if place in pinned or low_s - taps.period_s / 2 <= time_s <= high_s:
            is_pinned = place in pinned
            confidence = 1.0 if is_pinned else round(float(confidence), 2)
            beats.append(Beat(bar=bar, beat=beat, time_s=float(time_s), confidence=confidence, is_pinned=is_pinned))
    return BeatMap(recording=recording, length_s=strength.length_s, layout=layout, beats=tuple(beats))


def heard_between(audio: NDArray[np.float32]) -> tuple[float, float]:
    """From when to when a recording, float32 (n,) or (n, 2), is louder than 50 dB below its peak, in s."""
    block = RATE // 20
    count = max(len(audio) // block, 1)
    flat = np.abs(audio[: count * block]).reshape(count, -1).max(axis=1)
    loud = np.flatnonzero(flat > QUIET * flat.max())
    return float(loud[0]) * block / RATE, float(loud[-1] + 1) * block / RATE


def _known(
    tracked_s: FloatArray, taps: TappedBeat, first_place: int, pins: Sequence[Beat], layout: BarLayout
) -> list[tuple[int, float]]:
    """Beats whose number is known, (place, s), rising: the pins, and the first tap unless a pin stands for it."""
    known = sorted((layout.place(pin.bar, pin.beat), pin.time_s) for pin in pins)
    first_s = float(tracked_s[np.abs(tracked_s - taps.times_s[0]).argmin()])
    if all(place != first_place and abs(time_s - first_s) > taps.period_s / 2 for place, time_s in known):
        known = sorted([*known, (first_place, first_s)])
    for (place, time_s), (next_place, next_s) in pairwise(known):
        gap_s = (next_s - time_s) / (next_place - place) if next_place > place else 0.0
        if not 0.5 * taps.period_s < gap_s < 2 * taps.period_s:
            bar, beat = layout.at(next_place)
            what = f"Bar {bar}, beat {beat} cannot lie at {next_s:g} s: a beat before it would be {gap_s:.2f} s."
            raise TapsError(what, hint="Check its bar, its beat and its time, and those of the pin before it.")
    return known


def _filled(
    strength: OnsetStrength, tracked_s: FloatArray, known: Sequence[tuple[int, float]], played: PlayedChart | None
) -> tuple[FloatArray, int]:
    """All beats and the place of the first: as tracked outside the known ones, as many as must be between them."""
    (first_place, first_s), (_, last_s) = known[0], known[-1]
    period_s = float(np.median(np.diff(tracked_s)))
    before = tracked_s[tracked_s < first_s - period_s / 2]
    pieces = [before]
    for (place, time_s), (next_place, next_s) in pairwise(known):
        between = range(place, next_place)
        paces = np.array(played.paces(between), np.float64) if played else np.ones(len(between))
        pieces.append(_between(strength, tracked_s, time_s, next_s, paces))
    pieces.append(np.concatenate([[last_s], tracked_s[tracked_s > last_s + period_s / 2]]))
    return np.concatenate(pieces), first_place - len(before)


def _between(
    strength: OnsetStrength, tracked_s: FloatArray, from_s: float, to_s: float, paces: FloatArray
) -> FloatArray:
    """As many beats as paces from one known beat (with it) to the next (without it)."""
    count = len(paces)
    half_s = (to_s - from_s) / count / 2
    inside = tracked_s[(tracked_s > from_s + half_s) & (tracked_s < to_s - half_s)]
    if len(inside) != count - 1:
        inside = counted_beats(strength, from_s, to_s, paces)
    return np.concatenate([[from_s], inside])


def counted_beats(strength: OnsetStrength, from_s: float, to_s: float, paces: FloatArray) -> FloatArray:
    """The beats that lie best between two, one fewer than paces, by dynamic programming over their distance from where
    the paces put them. paces: how long the beats last against each other, (count,).
    """
    count, lengths = len(paces), paces * ((to_s - from_s) / FRAME_S / float(paces.sum()))
    places = from_s / FRAME_S + np.cumsum(lengths)
    reach = max(int(float(lengths.min()) * 0.9), 1)
    shifts = np.arange(-reach, reach + 1)
    apart = shifts[:, None] - shifts[None, :]  # [now, before]
    worth = np.log1p(strength.values.astype(np.float64))
    best = np.where(shifts == 0, 0.0, -np.inf)
    came = []
    for place, length in zip(places, lengths, strict=True):
        frames = np.clip(round(float(place)) + shifts, 0, len(worth) - 1)
        options = best[None, :] - (np.log(np.maximum(length + apart, 1.0) / length) / GAP_SPREAD) ** 2 / 2
        came.append(options.argmax(axis=1))
        best = options.max(axis=1) + worth[frames]
    now, times_s = reach, []
    for number in range(count, 1, -1):
        now = int(came[number - 1][now])
        times_s.append((float(places[number - 2]) + shifts[now]) * FRAME_S)
    return np.array(times_s[::-1])


def _confidence(strength: OnsetStrength, times_s: FloatArray) -> FloatArray:
    """0..1 for each beat: whether something begins on it, and whether it lies midway between its neighbours."""
    on = strength.at(times_s, REACH_S).astype(np.float64)
    clear = np.minimum(on / (CLEAR_SHARE * float(np.median(on)) + 1e-6), 1.0)
    middle = times_s.copy()
    middle[1:-1] = (times_s[2:] + times_s[:-2]) / 2
    gaps = np.gradient(times_s) if len(times_s) > 1 else np.ones(1)
    even = np.exp(-(((times_s - middle) / gaps / UNEVEN_SHARE) ** 2) / 2)
    return even * (QUIET_CONFIDENCE + (1 - QUIET_CONFIDENCE) * clear)

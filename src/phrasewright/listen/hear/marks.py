"""Which techniques a note was played with, as far as its pitch, its attack and the note before it tell.

* bend: pitch leaves the one it began on and rests elsewhere, or comes back;
* vibrato: it swings to and fro, two times at least, at a rate that hands have (4 to 8 Hz: common practice);
* slide: it travels from the pitch of the note before, without a stroke, longer than a finger takes to come down;
* hammer-on or pull-off: it jumps from the pitch of the note before, within the reach of a hand, without a stroke;
* dead note: hardly any pitch, and silent within a tenth of a second.

The bounds were set by measurement on lines of the string models and of sampled guitars (docs/listening.md).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy.ndimage import median_filter, uniform_filter1d

from phrasewright.listen.hear.attack import Attack
from phrasewright.listen.hear.pitch_curve import RIM_S, PitchCurve
from phrasewright.listen.heard import CURVE_STEP_S, HeardTechnique, Mark

FloatArray = NDArray[np.float64]

LEAST_BEND_CENTS = 45.0  # a quarter tone is meant; less is a finger's pressure
WIDEST_BEND_CENTS = 420.0
BEGINS_S = 0.05  # the pitch a note begins on shows in so long
WINDOW_SPREAD_S = 0.0116  # standard deviation of the window's hearing in time: T sqrt(1/12 - 1/(2 pi^2))
FARTHEST_BACK_CENTS = 20.0
SETTLES_CENTS = 20.0
LEAST_REST_S = 0.04
LEAST_LEG_CENTS = 9.0  # from one turn of a vibrato to the next
HALF_SWING_S = (0.055, 0.15)  # 3.3 to 9 Hz
UNEVEN = 3.5  # a swing that grows may be so many times as wide as the one before
LEAST_HALF_SWINGS = 2
WIDE_SWING_CENTS, WIDEST_SWING_CENTS = 15.0, 75.0  # to either side
CONNECTED_S = 0.03
WIDEST_LEGATO_CENTS = 550.0
UNSTRUCK = 0.2  # how likely, by network and attack, a string sounds on, from which that is believed
SLID = 0.05  # the same where the pitch is heard to travel
SLIDE_S = 0.035  # a travel between two pitches that takes longer is heard as one
OFF_CENTS = 45.0  # a pitch so far from another is not that pitch
TAIL_S = 0.08
DEAD_CLARITY = 0.35
DEAD_FALL_DB = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """The note before one. curve: its pitch; onset_s, offset_s: where it begins and ends."""

    curve: PitchCurve
    onset_s: float
    offset_s: float


def marks_of(
    curve: PitchCurve,
    onset_s: float,
    attack: Attack,
    before: Before | None = None,
    *,
    soft: float | None = None,
    glide: PitchCurve | None = None,
) -> tuple[Mark, ...]:
    """The techniques heard in a note, in the order of ``HeardTechnique``.

    before: the last note to begin before it; soft: 0..1, how likely the network takes it for not struck, None = the
    attack alone tells; glide: the curve that a slide to it would show in, where that is more than its own.
    """
    dead = _dead(curve, attack)
    if dead is not None:
        return (dead,)
    joined = _joined(curve, glide or curve, onset_s, _unstruck(attack, soft), before)
    vibrato = _vibrato(curve)
    slides = joined is not None and joined.technique is HeardTechnique.SLIDE
    marks = (None if slides else _bend(curve, vibrato), vibrato, joined)
    return tuple(mark for mark in marks if mark is not None)


# --- dead notes


def _dead(curve: PitchCurve, attack: Attack) -> Mark | None:
    if attack.fall_db < DEAD_FALL_DB:
        return None
    pitched = np.isfinite(curve.cents)
    clarity = float(np.median(curve.clarity[: round(0.1 / CURVE_STEP_S)]))
    if clarity > DEAD_CLARITY and pitched.mean() > 0.5:
        return None
    sure = min(1.0, attack.fall_db / (2 * DEAD_FALL_DB)) * (1.0 - max(0.0, clarity - 0.1))
    return Mark(technique=HeardTechnique.DEAD, confidence=float(np.clip(sure, 0.0, 1.0)))


# --- bends


def _bend(curve: PitchCurve, vibrato: Mark | None) -> Mark | None:
    cents = _filled(curve.cents)
    first = round(BEGINS_S / CURVE_STEP_S)
    if len(cents) < 2 * first:
        return None
    level = _level(cents, vibrato)
    start = _start(cents[:first], level[first:])
    goal = _goal(level[first:], start)
    amount = goal - start
    if not LEAST_BEND_CENTS <= abs(amount) <= WIDEST_BEND_CENTS or _jumps(cents, amount):
        return None
    sure = min(1.0, abs(amount) / 80.0) * float(np.isfinite(curve.cents).mean())
    return Mark(technique=HeardTechnique.BEND, cents=amount, confidence=float(np.clip(sure, 0.05, 1.0)))


def _start(first: FloatArray, rest: FloatArray) -> float:
    """The pitch a note begins on: of its first moments the one farthest from where it goes, but for one.

    A bend that rises at once has moved by the time it can be read; its rise, which begins as a square of time, is
    followed back to the onset.
    """
    rises = rest[int(np.argmax(np.abs(rest - first[0])))] > first.mean()
    seen = float(np.sort(first)[1 if rises else -2])
    read = round(RIM_S / CURVE_STEP_S)
    moved = (np.arange(read, len(first)) * CURVE_STEP_S) ** 2 + WINDOW_SPREAD_S**2
    curvature = np.polyfit(moved, first[read:], 1)[0]
    back = float(np.clip(curvature * moved[0], -FARTHEST_BACK_CENTS, FARTHEST_BACK_CENTS))
    return seen - back if (back > 0) == rises else seen


def _goal(level: FloatArray, start: float) -> float:
    """The pitch farthest from the start at which a note rests, the start itself where there is none."""
    farthest_first = np.argsort(-np.abs(level - start))
    for place in farthest_first[:: max(len(level) // 30, 1)]:
        rests = np.abs(level - level[place]) < SETTLES_CENTS
        if rests.sum() * CURVE_STEP_S >= LEAST_REST_S:
            return float(np.median(level[rests]))
    return start


def _jumps(cents: FloatArray, amount: float) -> bool:
    """True when most of the way is done in one or two steps: another note, not a bend."""
    return bool(np.abs(cents[2:] - cents[:-2]).max() > max(0.85 * abs(amount), 60.0))


def _level(cents: FloatArray, vibrato: Mark | None) -> FloatArray:
    """A curve without specks, and with a vibrato evened out where it rests."""
    smooth: FloatArray = median_filter(cents, min(5, len(cents)), mode="nearest")
    if vibrato is None:
        return smooth
    level = uniform_filter1d(smooth, max(round(1.0 / vibrato.rate_hz / CURVE_STEP_S), 1), mode="nearest")
    return np.where(np.abs(level - smooth) < 1.5 * vibrato.cents + 5.0, level, smooth)


def _filled(cents: FloatArray) -> FloatArray:
    """A curve without gaps, joined by straight lines; empty without any pitch."""
    heard = np.isfinite(cents)
    if not heard.any():
        return np.zeros(0)
    places = np.arange(len(cents))
    return np.asarray(np.interp(places, places[heard], cents[heard]))


# --- vibrato


def _vibrato(curve: PitchCurve) -> Mark | None:
    cents = _filled(curve.cents)
    first = round(BEGINS_S / CURVE_STEP_S)
    turns = _turns(cents[first:]) + first
    begin, end = _swinging(cents, turns)
    halves = end - begin
    if halves < LEAST_HALF_SWINGS:
        return None
    legs = np.abs(np.diff(cents[turns[begin : end + 1]]))
    wide = float(np.median(legs)) / 2.0
    if halves < 3 and not WIDE_SWING_CENTS <= wide <= WIDEST_SWING_CENTS:
        return None
    stretch = cents[max(turns[begin] - 5, 0) : turns[end] + 6]
    rate_hz = _rate(stretch, halves / (2.0 * CURVE_STEP_S * (turns[end] - turns[begin])))
    width = float(np.percentile(_widths(stretch, rate_hz), 75))
    sure = min(1.0, (halves + 1) / 6.0) * min(1.0, width / 12.0)
    return Mark(technique=HeardTechnique.VIBRATO, cents=width, rate_hz=rate_hz, confidence=float(sure))


def _turns(cents: FloatArray) -> NDArray[np.intp]:
    """Where a curve turns by at least ``LEAST_LEG_CENTS``, with the ends of its first and last such way."""
    turns: list[int] = []
    high = low = heading = 0
    for place, value in enumerate(cents):
        if heading >= 0 and value >= cents[high]:
            high = place
        if heading <= 0 and value <= cents[low]:
            low = place
        if heading >= 0 and cents[high] - value >= LEAST_LEG_CENTS:
            turns.append(high)
            heading, low = -1, place
        elif heading <= 0 and value - cents[low] >= LEAST_LEG_CENTS:
            turns.append(low)
            heading, high = 1, place
    if heading:
        turns.append(high if heading > 0 else low)
    return np.array(turns, dtype=np.intp)


def _swinging(cents: FloatArray, turns: NDArray[np.intp]) -> tuple[int, int]:
    """The longest run of turns that follow each other at a hand's pace, about equally wide: first and last of them."""
    best, begin = (0, 0), 0
    sizes, lengths_s = np.abs(np.diff(cents[turns])), np.diff(turns) * CURVE_STEP_S
    paced = (lengths_s >= HALF_SWING_S[0]) & (lengths_s <= HALF_SWING_S[1]) & (sizes <= 2 * WIDEST_SWING_CENTS)
    for leg in range(len(sizes)):
        if not paced[leg]:
            begin = leg + 1
        elif leg > begin and not 1 / UNEVEN <= sizes[leg] / sizes[leg - 1] <= UNEVEN:
            begin = leg
        if leg + 1 - begin > best[1] - best[0]:
            best = begin, leg + 1
    return best


def _rate(stretch: FloatArray, rough_hz: float) -> float:
    """The rate of the steady swing that fits a stretch best, near a rough one."""
    rates_hz = rough_hz * np.linspace(0.75, 1.25, 51)
    places = np.arange(len(stretch))
    weight = np.hanning(len(stretch) + 2)[1:-1]
    turns = np.exp(-2j * np.pi * CURVE_STEP_S * rates_hz[:, None] * places)
    basis = np.stack([np.ones(len(places)), places - places.mean()], axis=1)
    line = np.linalg.lstsq(basis * weight[:, None], stretch * weight, rcond=None)[0]
    power = np.abs(turns @ (weight * (stretch - basis @ line)))
    return float(rates_hz[int(np.argmax(power))])


def _widths(cents: FloatArray, rate_hz: float) -> FloatArray:
    """How wide a curve swings around each moment at a rate, to either side."""
    reach = min(round(0.6 / rate_hz / CURVE_STEP_S), (len(cents) - 1) // 2)
    turn = 2 * np.pi * rate_hz * CURVE_STEP_S * np.arange(-reach, reach + 1)
    basis = np.stack([np.ones(len(turn)), np.arange(-reach, reach + 1), np.cos(turn), np.sin(turn)], axis=1)
    fit = np.linalg.pinv(basis)[2:]
    windows = sliding_window_view(cents, len(turn))
    return np.asarray(np.hypot(*(windows @ fit.T).T))


# --- slides, hammer-ons and pull-offs


def _unstruck(attack: Attack, soft: float | None) -> float:
    """How likely a string sounds on, by attack and network: both must say so."""
    by_attack = 1.0 - attack.struck
    return by_attack if soft is None else float(np.sqrt(soft * by_attack))


def _joined(curve: PitchCurve, glide: PitchCurve, onset_s: float, weak: float, before: Before | None) -> Mark | None:
    if before is None or onset_s - before.offset_s > CONNECTED_S:
        return None
    tail = _tail(before, onset_s)
    if not len(tail):
        return None
    from_midi = float(np.median(tail[: max(len(tail) // 2, 1)]))
    travel = 100.0 * (_arrived(curve) - from_midi)
    if abs(travel) < 60.0:
        return None
    way = 100.0 * (glide.midi[: round(0.2 / CURVE_STEP_S)] - from_midi) * np.sign(travel)
    steps = _travelling(way, abs(travel))
    if steps * CURVE_STEP_S >= SLIDE_S and weak >= SLID:
        return Mark(technique=HeardTechnique.SLIDE, cents=travel, confidence=0.5 + weak / 2)
    if weak >= UNSTRUCK and abs(travel) <= WIDEST_LEGATO_CENTS:
        return Mark(technique=HeardTechnique.LEGATO, confidence=min(0.5 + weak, 1.0))
    return None


def _tail(before: Before, onset_s: float) -> FloatArray:
    """The last pitches of the note before, up to an onset."""
    last = min(int((onset_s - before.onset_s) / CURVE_STEP_S), len(before.curve.cents))
    tail = before.curve.midi[max(last - round(TAIL_S / CURVE_STEP_S), 0) : last]
    return tail[np.isfinite(tail)]


def _arrived(curve: PitchCurve) -> float:
    """The pitch a note has once a slide would be over."""
    near = curve.midi[round(0.06 / CURVE_STEP_S) : round(0.2 / CURVE_STEP_S)]
    near = near[np.isfinite(near)]
    return float(np.median(near)) if len(near) else curve.pitch_midi


def _travelling(cents: FloatArray, travel: float) -> int:
    """Steps spent between two pitches, neither near the first nor near the second."""
    heard = cents[np.isfinite(cents)]
    between = (heard > OFF_CENTS) & (heard < travel - OFF_CENTS)
    return int(between.sum()) if (heard < 0.75 * travel).any() else 0

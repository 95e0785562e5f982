"""A drum kit from modes and noise.

* Skins (kick, toms, snare heads): a few modes of a membrane (ideal ratios 1, 1.59, 2.14, 2.30, 2.65, 2.92;
  Fletcher & Rossing, The Physics of Musical Instruments, from memory), a pitch that falls as the blow's extra tension
  relaxes, and the noise of the stick or beater.
* Snare wires: bright noise that outlasts the head's knock.
* Metal (hats, ride, crash): dense inharmonic modes, evenly spread in frequency as a plate's are, the high ones
  dying first; cymbals bloom: their wash needs a few tens of milliseconds to build up.
* Wood (side stick, count-in block): a handful of short modes.

Every stroke is scaled to the same energy for its piece and then by velocity, so a harder stroke is always louder;
velocity also brightens it. ``seed`` varies strike point and noise slightly (round robin). All returns float32 (n,),
first sound at sample 0, tail included.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from scipy.signal import sosfilt

from phrasewright.score.model import Drum
from phrasewright.sound.filters import bandpass, highpass, lowpass
from phrasewright.sound.modes import AudioArray, FloatArray, Modes, rate_from_t60, ring, ring_bent

Rng: TypeAlias = np.random.Generator
Stroke: TypeAlias = Callable[[float, Rng, int], FloatArray]

VELOCITY_POWER = 1.4
MEMBRANE_RATIOS = np.array([1.0, 1.594, 2.136, 2.296, 2.653, 2.918])
SILENCE_DB = -62.0
ONSET_S = 0.0003  # a blow is not instantaneous; keeps the first sample at 0 and the onset within 1 ms
LEVELS = {  # peak-free loudness of each piece at full velocity: square root of the energy of its first 80 ms, relative
    Drum.KICK: 0.26, Drum.SNARE: 0.155, Drum.GHOST: 0.10, Drum.SIDE_STICK: 0.08, Drum.CLOSED_HAT: 0.065,
    Drum.PEDAL_HAT: 0.075, Drum.OPEN_HAT: 0.075, Drum.RIDE: 0.08, Drum.RIDE_BELL: 0.08, Drum.CRASH: 0.13,
    Drum.HIGH_TOM: 0.17, Drum.MID_TOM: 0.17, Drum.LOW_TOM: 0.18, Drum.SHAKER: 0.06, Drum.CLICK: 0.11,
}  # fmt: skip
ENERGY_WINDOW_S = 0.08
CLICK_T60_S, CLICK_HOLD_S = [0.16, 0.11, 0.05, 0.03], 0.01
CLICK_ACCENT = 0.9  # from this velocity on, the count-in block is the high one


def stroke(drum: Drum, velocity: float, *, sample_rate: int, seed: int = 0) -> AudioArray:
    """One stroke on one piece of the kit. velocity in (0, 1]."""
    rng = np.random.default_rng([seed, *drum.value.encode()])
    sound = _STROKES[drum](velocity, rng, sample_rate)
    rise = np.minimum(np.arange(len(sound)) / (ONSET_S * sample_rate), 1.0)
    sound = np.asarray(sosfilt(highpass(25.0, sample_rate), sound * rise))
    first = sound[: int(ENERGY_WINDOW_S * sample_rate)]
    energy = np.sqrt(np.sum(first**2) / (ENERGY_WINDOW_S * sample_rate))
    return _trim(sound * (LEVELS[drum] * velocity**VELOCITY_POWER / energy), sample_rate)


def _kick(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    time_s = _times(0.55, sample_rate)
    bend = 1.0 + (1.2 + 0.9 * velocity) * np.exp(-time_s / 0.011) + 0.22 * np.exp(-time_s / 0.06)
    body = ring_bent(_modes([50.0, 79.0, 112.0], [0.42, 0.16, 0.09], [1.0, 0.28, 0.12]), bend, sample_rate)
    beater = _noise(rng, len(time_s), bandpass(1500.0, 5200.0, sample_rate)) * np.exp(-time_s / 0.0035)
    knock = ring(_modes([310.0, 720.0], [0.035, 0.025], [1.0, 0.7]), len(time_s), sample_rate)
    return np.asarray(body + (0.10 + 0.28 * velocity) * beater + (0.05 + 0.14 * velocity) * knock)


def _snare(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    time_s = _times(0.5, sample_rate)
    heads = _modes(
        [186.0, 278.0, 332.0, 415.0, 511.0, 640.0, 915.0],
        [0.17, 0.12, 0.13, 0.09, 0.08, 0.06, 0.05],
        rng.uniform(0.8, 1.2, 7) * [1.0, 0.35, 0.75, 0.3, 0.3, 0.22, 0.15],
    )
    bend = 1.0 + 0.10 * velocity * np.exp(-time_s / 0.018)
    wires = _noise(rng, len(time_s), bandpass(1100.0, 9500.0, sample_rate, 1))
    tail = 0.62 * np.exp(-time_s / 0.016) + 0.38 * np.exp(-time_s / (0.045 + 0.012 * velocity))
    crack = _noise(rng, len(time_s), bandpass(2200.0, 12000.0, sample_rate)) * np.exp(-time_s / 0.004)
    wires *= tail * np.minimum(time_s / 0.0012, 1.0)
    wires += velocity * (0.4 * wires + 0.9 * np.sqrt(velocity) * crack)
    return np.asarray(1.05 * ring_bent(heads, bend, sample_rate) + wires)


def _ghost(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    """A brushed or barely touched snare: mostly wires, a soft edge."""
    time_s = _times(0.3, sample_rate)
    heads = _modes([184.0, 329.0, 508.0], [0.10, 0.08, 0.05], [1.0, 0.6, 0.25])
    wires = _noise(rng, len(time_s), bandpass(1300.0, 6500.0, sample_rate, 1))
    shape = np.minimum(time_s / 0.003, 1.0) * (0.55 * np.exp(-time_s / 0.012) + 0.45 * np.exp(-time_s / 0.038))
    return (0.35 + 0.3 * velocity) * ring(heads, len(time_s), sample_rate) + 1.2 * wires * shape


def _side_stick(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    time_s = _times(0.25, sample_rate)
    wood = _modes(
        [388.0, 865.0, 1690.0, 2440.0, 3350.0, 4720.0],
        [0.07, 0.065, 0.07, 0.045, 0.03, 0.02],
        rng.uniform(0.85, 1.15, 6) * [0.55, 0.5, 1.0, 0.55, 0.4, 0.25],
        rng.uniform(0.0, 0.6, 6),
    )
    tick = _noise(rng, len(time_s), bandpass(2500.0, 9000.0, sample_rate)) * np.exp(-time_s / 0.0018)
    rattle = _noise(rng, len(time_s), bandpass(2000.0, 7000.0, sample_rate)) * np.exp(-time_s / 0.025)
    return ring(wood, len(time_s), sample_rate) + (0.4 + 0.6 * velocity) * tick + 0.05 * rattle


def _tom(fundamental_hz: float, t60_s: float) -> Stroke:
    def play(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
        time_s = _times(1.25 * t60_s, sample_rate)
        bend = 1.0 + (0.05 + 0.10 * velocity) * np.exp(-time_s / 0.045)
        size = rng.uniform(0.85, 1.15, 6) * [1.0, 0.55, 0.3, 0.16, 0.12, 0.08]
        decay = t60_s * np.array([1.0, 0.6, 0.4, 0.34, 0.28, 0.24])
        skin = ring_bent(_modes(fundamental_hz * MEMBRANE_RATIOS, decay, size), bend, sample_rate)
        stick = _noise(rng, len(time_s), bandpass(900.0, 5500.0, sample_rate)) * np.exp(-time_s / 0.006)
        return skin + (0.12 + 0.3 * velocity) * stick

    return play


def _hat(t60_s: float, *, foot: float) -> Stroke:
    """foot: share of the two cymbals' low 'chick' as they close (0 for a stick)."""

    def play(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
        time_s = _times(1.15 * t60_s + 0.03, sample_rate)
        low_hz = 1500.0 - 400.0 * foot
        metal = _metal(rng, low_hz, 16_500.0, 190, t60_s, brightness=0.85 + 0.45 * velocity - 0.3 * foot)
        hiss = _noise(rng, len(time_s), highpass(6500.0 - 2500.0 * foot, sample_rate, 2))
        tick = _noise(rng, len(time_s), bandpass(3500.0, 11_000.0, sample_rate)) * np.exp(-time_s / 0.0025)
        body = ring(metal, len(time_s), sample_rate) + 0.28 * hiss * np.exp(-rate_from_t60(0.8 * t60_s) * time_s)
        softened = np.minimum(time_s / (0.0005 + 0.004 * foot), 1.0)
        return body * softened + (0.15 + 0.75 * velocity) * (1.0 - foot) * tick

    return play


def _ride(*, bell: float) -> Stroke:
    """bell: how much of the stroke falls on the bell (0..1)."""

    def play(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
        time_s = _times(2.6, sample_rate)
        wash = _metal(rng, 380.0, 16_000.0, 260, 3.2, brightness=0.5 + 0.3 * velocity)
        bloom = 1.0 - np.exp(-time_s / 0.035)
        ping = _modes(
            [621.0, 1073.0, 1586.0, 2297.0, 3118.0, 3931.0, 4867.0, 6210.0],
            [1.9, 1.6, 1.2, 0.9, 0.65, 0.5, 0.4, 0.3],
            rng.uniform(0.85, 1.15, 8) * [0.08, 0.2, 0.25, 0.4, 0.6, 0.6, 0.5, 0.4],
            rng.uniform(0.0, 2.0 * np.pi, 8),
        )
        dome = _modes(
            [792.0, 1178.0, 1853.0, 2522.0, 3367.0, 4415.0],
            [1.8, 1.7, 1.3, 1.0, 0.8, 0.6],
            rng.uniform(0.9, 1.1, 6) * [0.9, 1.0, 0.7, 0.6, 0.5, 0.35],
        )
        tick = _noise(rng, len(time_s), bandpass(3800.0, 10_500.0, sample_rate)) * np.exp(-time_s / 0.0045)
        return (
            (1.0 - 0.4 * bell) * bloom * ring(wash, len(time_s), sample_rate)
            + 0.5 * (1.0 - 0.6 * bell) * ring(ping, len(time_s), sample_rate)
            + 1.2 * bell * ring(dome, len(time_s), sample_rate)
            + (0.5 + 0.7 * velocity) * tick
        )

    return play


def _crash(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    time_s = _times(3.0, sample_rate)
    metal = _metal(rng, 320.0, 15_500.0, 330, 2.2, brightness=0.45 + 0.4 * velocity)
    bloom = 0.35 + 0.65 * (1.0 - np.exp(-time_s / 0.014))
    hiss = _noise(rng, len(time_s), bandpass(2500.0, 14_000.0, sample_rate, 1))
    strike = _noise(rng, len(time_s), bandpass(1500.0, 9000.0, sample_rate)) * np.exp(-time_s / 0.005)
    return (
        bloom * ring(metal, len(time_s), sample_rate)
        + 0.5 * hiss * bloom * (0.6 * np.exp(-time_s / 0.10) + 0.4 * np.exp(-time_s / 0.32))
        + (0.3 + 0.5 * velocity) * strike
    )


def _shaker(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    time_s = _times(0.16, sample_rate)
    beads = _noise(rng, len(time_s), bandpass(4200.0, 11_000.0, sample_rate))
    grain = 0.75 + 0.25 * np.abs(_noise(rng, len(time_s), lowpass(420.0, sample_rate)))
    return beads * grain * np.minimum(time_s / 0.005, 1.0) * np.exp(-time_s / (0.018 + 0.012 * velocity))


def _click(velocity: float, rng: Rng, sample_rate: int) -> FloatArray:
    """A wood block: the high one on accents.

    It keeps its full swing for ``CLICK_HOLD_S`` before it dies away: energy without height, so that clicks alone can be
    as loud as music under one ceiling.
    """
    time_s = _times(0.3, sample_rate)
    ratio = 1.0 if velocity < CLICK_ACCENT else 1.335
    wood = _modes(ratio * np.array([905.0, 1480.0, 2285.0, 3120.0]), CLICK_T60_S, [1.0, 0.35, 0.2, 0.1])
    held = np.exp(rate_from_t60(CLICK_T60_S[0]) * np.minimum(time_s, CLICK_HOLD_S))
    tick = _noise(rng, len(time_s), bandpass(1800.0, 7000.0, sample_rate)) * np.exp(-time_s / 0.0015)
    return np.asarray(ring(wood, len(time_s), sample_rate) * held + 0.15 * tick)


_STROKES: dict[Drum, Stroke] = {
    Drum.KICK: _kick,
    Drum.SNARE: _snare,
    Drum.GHOST: _ghost,
    Drum.SIDE_STICK: _side_stick,
    Drum.CLOSED_HAT: _hat(0.15, foot=0.0),
    Drum.PEDAL_HAT: _hat(0.11, foot=1.0),
    Drum.OPEN_HAT: _hat(0.95, foot=0.0),
    Drum.RIDE: _ride(bell=0.0),
    Drum.RIDE_BELL: _ride(bell=1.0),
    Drum.CRASH: _crash,
    Drum.HIGH_TOM: _tom(168.0, 0.55),
    Drum.MID_TOM: _tom(123.0, 0.68),
    Drum.LOW_TOM: _tom(84.0, 0.85),
    Drum.SHAKER: _shaker,
    Drum.CLICK: _click,
}


def _times(length_s: float, sample_rate: int) -> FloatArray:
    return np.arange(int(length_s * sample_rate)) / sample_rate


def _modes(
    frequency_hz: FloatArray | list[float],
    t60_s: FloatArray | list[float],
    amplitude: FloatArray | list[float],
    phase: FloatArray | None = None,
) -> Modes:
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    return Modes(
        frequency_hz=frequency_hz,
        decay_per_s=rate_from_t60(np.asarray(t60_s, dtype=np.float64)),
        amplitude=np.asarray(amplitude, dtype=np.float64),
        phase=np.zeros(len(frequency_hz)) if phase is None else phase,
    )


def _metal(rng: Rng, low_hz: float, high_hz: float, count: int, t60_s: float, *, brightness: float) -> Modes:
    """Plate modes: evenly spread with some disorder, in power rising to the middle and falling by brightness."""
    plate = np.random.default_rng(int(low_hz) * 1000 + count)  # the instrument itself does not vary
    spacing = (high_hz - low_hz) / count
    frequency_hz = low_hz + spacing * (np.arange(count) + plate.uniform(0.0, 1.0, count))
    octaves = np.log2(frequency_hz / (low_hz * high_hz) ** 0.5)
    low_end_db = -16.0 * np.clip(np.log2(3.0 * low_hz / frequency_hz), 0.0, None)
    slope_db = -9.0 * (1.0 - brightness) * octaves - 1.6 * octaves**2 + low_end_db
    uneven_db = plate.normal(0.0, 4.0, count) + rng.normal(0.0, 1.2, count)
    return Modes(
        frequency_hz=frequency_hz,
        decay_per_s=rate_from_t60(t60_s * plate.uniform(0.6, 1.3, count) / (1.0 + (frequency_hz / 7000.0) ** 1.5)),
        amplitude=10.0 ** ((slope_db + uneven_db) / 20.0) / np.sqrt(count),
        phase=rng.uniform(0.0, 2.0 * np.pi, count),
    )


def _noise(rng: Rng, length: int, sections: FloatArray) -> FloatArray:
    """Filtered noise of unit power."""
    sound = np.asarray(sosfilt(sections, rng.standard_normal(length + 512)))[512:]
    return np.asarray(sound / (np.sqrt(np.mean(sound**2)) + 1e-12))


def _trim(sound: FloatArray, sample_rate: int) -> AudioArray:
    """Cut where the tail stays under ``SILENCE_DB`` of the peak, fading the last 5 ms."""
    loud = np.flatnonzero(np.abs(sound) > np.abs(sound).max() * 10.0 ** (SILENCE_DB / 20.0))
    kept = sound[: int(loud[-1]) + 1].copy()
    fade = min(len(kept), int(0.005 * sample_rate))
    kept[len(kept) - fade :] *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(fade) + 1.0) / fade)
    return kept.astype(np.float32)

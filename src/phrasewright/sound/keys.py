"""Keyboards: electric piano and drawbar organ.

Electric piano: a struck tine is nearly a pure sine with a short bell-like overtone of a clamped bar (6.27 f,
the second mode of a cantilever; Fletcher & Rossing, The Physics of Musical Instruments, from memory). The pickup
turns it into a rich tone: its flux falls off either side of the pole, so a wide swing is bent more than a narrow
one, which is why loud notes bark and soft ones sing. We model the flux as a Lorentz curve and take its derivative.

Organ: nine drawbars of pure partials (footages are common practice), a percussion partial that dies away, key
click, a slow swell of level like a rotating speaker at rest speed. No vibrato, so pitch stays exact.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import sosfilt

from phrasewright.sound.filters import bandpass, lowpass
from phrasewright.sound.modes import AudioArray, FloatArray, Modes, rate_from_t60, ring
from phrasewright.units import A4_HZ, hz_from_midi

VELOCITY_POWER = 1.5
PIANO_LEVEL = 0.21
PIANO_OFFSET = 0.55  # where the tine rests beside the pole: 0 = centred (octave too high), more = duller
PIANO_BAR_MODE = 6.27
PIANO_RELEASE_S = 0.14
PIANO_CONTACT_S = 0.0015  # the hammer leaves the tine within this
ORGAN_LEVEL = 0.11
ORGAN_TAPER = 0.17  # the ear hears high pipes louder: 1 dB less for each octave up
ORGAN_RELEASE_S = 0.025
ORGAN_ATTACK_S = 0.0025
DRAWBARS = ((0.5, 8), (1.5, 6), (1.0, 8), (2.0, 5), (3.0, 3), (4.0, 3), (5.0, 1), (6.0, 1), (8.0, 2))  # (ratio, 0..8)
DRAWBAR_STEP_DB = 3.0  # one step of a drawbar (common practice)
ROTOR_HZ = 0.85
ROTOR_DEPTH = 0.12


def electric_piano(
    pitch_midi: float, duration_s: float, velocity: float, *, sample_rate: int, seed: int = 0, a4_hz: float = A4_HZ
) -> AudioArray:
    """One note, attack at sample 0, damped after ``duration_s``, tail included. Returns float32 (n,)."""
    f0_hz = hz_from_midi(pitch_midi, a4_hz)
    held = max(round(duration_s * sample_rate), 1)
    length = held + int(PIANO_RELEASE_S * sample_rate)
    swing = _tine(f0_hz, velocity, length, sample_rate)
    flux = 1.0 / (1.0 + ((0.35 + 0.65 * velocity) * swing - PIANO_OFFSET) ** 2)
    tone = np.gradient(flux) * sample_rate / (2.0 * np.pi * f0_hz)
    contact = np.sin(0.5 * np.pi * np.minimum(np.arange(length) / (PIANO_CONTACT_S * sample_rate), 1.0))
    tone = contact * _unit_start(tone, sample_rate) + _thump(velocity, length, sample_rate, seed)
    tone = np.asarray(sosfilt(lowpass(5500.0, sample_rate), tone))
    return _fade(tone * PIANO_LEVEL * velocity**VELOCITY_POWER, length - held)


def organ(
    pitch_midi: float, duration_s: float, velocity: float, *, sample_rate: int, seed: int = 0, a4_hz: float = A4_HZ
) -> AudioArray:
    """One note, attack at sample 0, released after ``duration_s``, tail included. Returns float32 (n,)."""
    f0_hz = hz_from_midi(pitch_midi, a4_hz)
    held = max(round(duration_s * sample_rate), int(ORGAN_ATTACK_S * sample_rate) + 1)
    length = held + int(ORGAN_RELEASE_S * sample_rate)
    time_s = np.arange(length) / sample_rate
    tone = ring(_drawbar_modes(f0_hz), length, sample_rate)
    swell = 1.0 + ROTOR_DEPTH * np.sin(2.0 * np.pi * ROTOR_HZ * time_s)
    tone = tone * swell + 0.12 * _burst(0.003, (900.0, 4000.0), length, sample_rate, [seed, 104_729])
    attack = np.minimum(time_s / ORGAN_ATTACK_S, 1.0)
    even = (200.0 / f0_hz) ** ORGAN_TAPER
    return _fade(tone * attack * even * ORGAN_LEVEL * velocity**VELOCITY_POWER, length - held)


def _tine(f0_hz: float, velocity: float, length: int, sample_rate: int) -> FloatArray:
    """Displacement of the tine, about -1..1 at full velocity."""
    sustain_s = 9.0 * (200.0 / f0_hz) ** 0.45
    bell = 0.10 * velocity * min(1.0, 500.0 / f0_hz)
    modes = Modes(
        frequency_hz=np.array([f0_hz, f0_hz, f0_hz * PIANO_BAR_MODE]),
        decay_per_s=rate_from_t60(np.array([sustain_s, sustain_s * 0.12, 0.35])),
        amplitude=np.array([0.75, 0.25, bell]),
        phase=np.zeros(3),
    )
    return ring(modes, length, sample_rate)


def _unit_start(tone: FloatArray, sample_rate: int) -> FloatArray:
    """Scale so that the first 0.3 s carry unit power: equal velocity, equal loudness over the keyboard."""
    first = tone[: int(0.3 * sample_rate)]
    return np.asarray(tone / (np.sqrt(np.mean(first**2)) + 1e-9) * np.sqrt(0.5))


def _thump(velocity: float, length: int, sample_rate: int, seed: int) -> FloatArray:
    """The hammer and the key bed."""
    knock = _burst(0.008, (120.0, 900.0), length, sample_rate, [seed, 15_485])
    return 0.12 * (0.4 + velocity) * knock


def _burst(decay_s: float, band_hz: tuple[float, float], length: int, sample_rate: int, seed: list[int]) -> FloatArray:
    """Band-passed noise that dies away by e in ``decay_s``, in silence of the given length."""
    out = np.zeros(length)
    size = min(length, int(12.0 * decay_s * sample_rate))
    rough = np.random.default_rng(seed).standard_normal(size) * np.exp(-np.arange(size) / (decay_s * sample_rate))
    out[:size] = sosfilt(bandpass(*band_hz, sample_rate), rough)
    return out


def _drawbar_modes(f0_hz: float) -> Modes:
    ratio = np.array([ratio for ratio, _ in DRAWBARS] + [3.0])
    level = np.array([10.0 ** ((setting - 8) * DRAWBAR_STEP_DB / 20.0) for _, setting in DRAWBARS] + [0.7])
    decay = np.array([0.0] * len(DRAWBARS) + [float(rate_from_t60(0.5))])
    return Modes(
        frequency_hz=ratio * f0_hz,
        decay_per_s=decay,
        amplitude=level / np.sqrt(np.sum(level[:-1] ** 2)),
        phase=np.zeros(len(ratio)),
    )


def _fade(tone: FloatArray, size: int) -> AudioArray:
    """Raised-cosine end over the last ``size`` samples."""
    size = min(size, len(tone))
    tone = tone.copy()
    tone[len(tone) - size :] *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(size) + 1.0) / max(size, 1))
    return tone.astype(np.float32)

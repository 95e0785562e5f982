"""Plucked strings as hands play them: struck, hammered, pulled, slid, bent, shaken, muted.

A string that sounds on is not struck again: its partials go on from where their losses have brought them since the
last stroke (highs gone first), at the new pitch, without pick noise. A hammering finger, and more so one that pulls
off, adds a little energy of its own. A palm adds the losses of the muted guitar; a dead string loses everything within
some hundredths of a second, its partials scattered, so that no pitch is heard. Numbers: by ear and common practice.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from phrasewright.score.technique import LEGATO, Damping, Start
from phrasewright.sound import strings
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture, cents_at
from phrasewright.sound.modes import AudioArray, Modes
from phrasewright.sound.strings import StringTone

FINGER_DB = {Start.HAMMERED: -7.0, Start.PULLED: -5.0, Start.SLID: -26.0}  # a finger's stroke against the plectrum's
FINGER_CORNER_HZ = 1500.0  # a fingertip is rounder than a plectrum
LEGATO_RISE_S = {Start.HAMMERED: 0.0015, Start.PULLED: 0.001, Start.SLID: 0.004}
DEAD_LOSS_DB_PER_S, DEAD_LOSS_PER_KHZ = 1000.0, 250.0
DEAD_NOISE_DB = 12.0  # more pick noise than a ringing note has
DEAD_NOISE_S = 0.005  # and it is over as soon as the string is
DEAD_S = 0.1
SCATTER = 0.25  # of a dead string's partials, as a share of their frequency


def play(
    tone: StringTone,
    pitch_midi: float,
    duration_s: float,
    velocity: float,
    *,
    sample_rate: int,
    seed: int = 0,
    gesture: Gesture = PLAIN_GESTURE,
) -> AudioArray:
    """One note, onset at sample 0, damped after ``duration_s``, tail included. Returns float32 (n,)."""
    if gesture.damping is Damping.DEAD:
        return _dead(tone, pitch_midi, min(duration_s, DEAD_S), velocity, sample_rate, seed)
    if gesture.damping is Damping.PALM:
        tone = palmed(tone)
    time_s = np.arange(max(round(duration_s * sample_rate), 1)) / sample_rate
    bend_cents = None if gesture.is_steady else cents_at(gesture, time_s)
    if gesture.start not in LEGATO:
        return strings.pluck(
            tone, pitch_midi, duration_s, velocity, sample_rate=sample_rate, seed=seed, bend_cents=bend_cents
        )
    modes = _carried(tone, pitch_midi, velocity, seed, gesture)
    sound = strings.sounded(tone, modes, duration_s, velocity, sample_rate=sample_rate, bend_cents=bend_cents)
    rise = min(int(LEGATO_RISE_S[gesture.start] * sample_rate), len(sound))
    sound[:rise] *= (0.5 - 0.5 * np.cos(np.pi * (np.arange(rise) + 0.5) / max(rise, 1))).astype(np.float32)
    return sound


def palmed(tone: StringTone) -> StringTone:
    """The tone under the side of the picking hand, with the losses of the muted guitar."""
    muted = strings.MUTED
    return replace(
        tone,
        mute_loss_db_per_s=muted.mute_loss_db_per_s,
        mute_loss_per_khz=muted.mute_loss_per_khz,
        slow_share_db=min(tone.slow_share_db, muted.slow_share_db),
    )


def _carried(tone: StringTone, pitch_midi: float, velocity: float, seed: int, gesture: Gesture) -> Modes:
    """The partials of a string that has rung for a while, and what the finger adds."""
    struck = strings.string_modes(tone, pitch_midi, velocity, seed=seed)
    roundness = 1.0 / (1.0 + (struck.frequency_hz / FINGER_CORNER_HZ) ** 2)
    added = struck.amplitude * roundness * 10.0 ** (FINGER_DB[gesture.start] / 20.0)
    left = struck.amplitude * np.exp(-struck.decay_per_s * gesture.rung_s)
    return replace(struck, amplitude=np.copysign(np.hypot(left, added), struck.amplitude))


def _dead(
    tone: StringTone, pitch_midi: float, duration_s: float, velocity: float, sample_rate: int, seed: int
) -> AudioArray:
    dull = replace(
        tone,
        mute_loss_db_per_s=DEAD_LOSS_DB_PER_S,
        mute_loss_per_khz=DEAD_LOSS_PER_KHZ,
        noise_db=tone.noise_db + DEAD_NOISE_DB,
        noise_s=min(tone.noise_s, DEAD_NOISE_S),
        slow_share_db=min(tone.slow_share_db, strings.MUTED.slow_share_db),
    )
    modes = strings.string_modes(dull, pitch_midi, velocity, seed=seed)
    scatter = np.random.default_rng([seed, 4211]).uniform(-SCATTER, SCATTER, len(modes.frequency_hz))
    scattered = replace(modes, frequency_hz=modes.frequency_hz * (1.0 + scatter))
    strokes = strings.strokes_of(dull, pitch_midi, velocity, sample_rate, seed)
    return strings.sounded(dull, scattered, duration_s, velocity, sample_rate=sample_rate, strokes=strokes)

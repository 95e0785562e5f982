"""The only unit conversions: frequency, pitch number and cents; quarter notes and seconds; decibels.

Twelve-tone equal temperament; A4 = MIDI note 69 = 440 Hz (ISO 16) where no other concert pitch is given.
"""

from __future__ import annotations

import math
from fractions import Fraction

A4_HZ = 440.0
A4_MIDI = 69
SEMITONES_PER_OCTAVE = 12
CENTS_PER_SEMITONE = 100.0


def hz_from_midi(pitch_midi: float, a4_hz: float = A4_HZ) -> float:
    """Frequency in Hz of a (fractional) MIDI pitch number on instruments tuned to ``a4_hz``."""
    return a4_hz * math.exp2((pitch_midi - A4_MIDI) / SEMITONES_PER_OCTAVE)


def midi_from_hz(frequency_hz: float) -> float:
    """Fractional MIDI pitch number of a frequency > 0 Hz."""
    return A4_MIDI + SEMITONES_PER_OCTAVE * math.log2(frequency_hz / A4_HZ)


def cents_between(from_hz: float, to_hz: float) -> float:
    """Signed distance in cents, positive when ``to_hz`` is higher."""
    return SEMITONES_PER_OCTAVE * CENTS_PER_SEMITONE * math.log2(to_hz / from_hz)


def seconds_from_quarters(quarters: Fraction, tempo_bpm: float) -> float:
    """Duration in seconds of a span in quarter notes; ``tempo_bpm`` counts quarter notes per minute."""
    return float(quarters) * 60.0 / tempo_bpm


def amplitude_from_db(level_db: float) -> float:
    """Linear amplitude ratio of a level in dB."""
    return math.pow(10.0, level_db / 20.0)


def db_from_amplitude(amplitude: float) -> float:
    """Level in dB of a linear amplitude ratio; -inf for silence."""
    return 20.0 * math.log10(amplitude) if amplitude > 0.0 else -math.inf

"""The closed set of pitched voices, and the one way to sound a note with any of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

from phrasewright.sound import keys, strings, touched
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture
from phrasewright.units import A4_HZ

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

VELOCITY_LAYERS = (0.3, 0.5, 0.7, 0.9)  # a note takes the tone of the nearest layer and its own exact loudness


class Voice(StrEnum):
    """What plays a pitched part; the value is what ``Part.voice`` says."""

    GUITAR = "guitar"  # clean electric lead
    RHYTHM_GUITAR = "rhythm guitar"  # thinner, brighter electric
    MUTED_GUITAR = "muted guitar"  # palm on the bridge
    ACOUSTIC_GUITAR = "acoustic guitar"  # steel strings
    NYLON_GUITAR = "nylon guitar"  # classical
    DRIVEN_GUITAR = "driven guitar"  # the lead through a lightly driven amplifier
    BASS = "bass"  # fingered electric bass
    ELECTRIC_PIANO = "electric piano"
    ORGAN = "organ"


_Player: TypeAlias = Callable[..., "AudioArray"]
_STRINGS: dict[Voice, strings.StringTone] = {
    Voice.GUITAR: strings.ELECTRIC,
    Voice.RHYTHM_GUITAR: strings.RHYTHM,
    Voice.MUTED_GUITAR: strings.MUTED,
    Voice.ACOUSTIC_GUITAR: strings.ACOUSTIC,
    Voice.NYLON_GUITAR: strings.NYLON,
    Voice.DRIVEN_GUITAR: strings.DRIVEN,
    Voice.BASS: strings.BASS,
}
_KEYBOARDS: dict[Voice, _Player] = {Voice.ELECTRIC_PIANO: keys.electric_piano, Voice.ORGAN: keys.organ}


def render_note(
    voice: Voice,
    pitch_midi: int,
    duration_s: float,
    velocity: float,
    *,
    sample_rate: int = SAMPLE_RATE,
    seed: int = 0,
    gesture: Gesture = PLAIN_GESTURE,
    a4_hz: float = A4_HZ,
) -> AudioArray:
    """One note: float32 (n,), attack at sample 0, damped after ``duration_s``, tail included.

    pitch_midi: 12..108; duration_s > 0; velocity in (0, 1]; gesture: for strings, keyboards have none of it; a4_hz:
    concert pitch. Same arguments, same samples.
    Raises ValueError outside these ranges.
    """
    if not 12 <= pitch_midi <= 108:
        raise ValueError(f"pitch must lie in MIDI 12..108, got {pitch_midi}")
    if duration_s <= 0.0:
        raise ValueError(f"duration must be > 0 s, got {duration_s}")
    if not 0.0 < velocity <= 1.0:
        raise ValueError(f"velocity must lie in (0, 1], got {velocity}")
    if voice in _STRINGS:
        tone = replace(_STRINGS[voice], a4_hz=a4_hz)
        return touched.play(tone, pitch_midi, duration_s, velocity, sample_rate=sample_rate, seed=seed, gesture=gesture)
    return _KEYBOARDS[voice](pitch_midi, duration_s, velocity, sample_rate=sample_rate, seed=seed, a4_hz=a4_hz)


def velocity_layer(velocity: float) -> float:
    """The nearest of ``VELOCITY_LAYERS``, the lower one of two equally near."""
    return min(VELOCITY_LAYERS, key=lambda layer: (abs(layer - velocity), layer))


def layer_gain(velocity: float, power: float = strings.VELOCITY_POWER) -> float:
    """Amplitude that brings a stroke of the velocity's layer to the velocity's own loudness."""
    return float((velocity / velocity_layer(velocity)) ** power)

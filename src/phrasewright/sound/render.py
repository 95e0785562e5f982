"""From timed events to a stem.

A note that sounds the same as an earlier one (voice, pitch, layer, length, round robin, gesture) is rendered once
and added again at its own sample. Onsets fall on the nearest sample (at most 0.011 ms off). A pedal or closed hat
silences an open one, a new stroke on the same pitch damps the old string, as on the instrument.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.band.drums import SILENCED_BY
from phrasewright.score.model import Drum
from phrasewright.sound import drums
from phrasewright.sound.events import SAMPLE_RATE, TimedHit, TimedNote
from phrasewright.sound.sounds import MODELS, Sounds
from phrasewright.sound.voices import Voice, layer_gain, velocity_layer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from phrasewright.sound.gesture import Gesture
    from phrasewright.sound.modes import AudioArray

DURATION_STEP_S = 0.005  # lengths are rounded to this, so that renders can be shared
SHORTEST_S = 0.03
CHOKE_S = 0.02
HAND_ON_S = 0.004  # one note of a string gives way to the next
PAN = {  # -1 left .. 1 right, as the drummer's listener sees the kit
    Drum.CLOSED_HAT: 0.45, Drum.PEDAL_HAT: 0.45, Drum.OPEN_HAT: 0.45, Drum.RIDE: -0.45, Drum.RIDE_BELL: -0.45,
    Drum.CRASH: 0.35, Drum.HIGH_TOM: 0.3, Drum.MID_TOM: -0.05, Drum.LOW_TOM: -0.4, Drum.SIDE_STICK: 0.08,
    Drum.SHAKER: 0.5,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pan:
    """Constant-power place between the loudspeakers: -1 left, 0 middle, 1 right."""

    place: float

    def __post_init__(self) -> None:
        if not -1.0 <= self.place <= 1.0:
            raise ValueError(f"a pan lies in -1..1, got {self.place}")

    @property
    def gains(self) -> AudioArray:
        """Amplitudes of the left and right channel, float32 (2,), 1 and 1 in the middle."""
        angle = (self.place + 1.0) * np.pi / 4.0
        return np.array([np.cos(angle), np.sin(angle)], dtype=np.float32) * np.float32(np.sqrt(2.0))


def render_notes(
    notes: Sequence[TimedNote],
    voice: Voice,
    *,
    length: int,
    sample_rate: int = SAMPLE_RATE,
    seed: int = 0,
    sounds: Sounds = MODELS,
) -> AudioArray:
    """A pitched stem. Returns float32 (length,); what sounds past the end is cut off with a short fade."""
    out = np.zeros(length, dtype=np.float32)
    for index, note in enumerate(notes):
        duration_s = max(round(note.duration_s / DURATION_STEP_S) * DURATION_STEP_S, SHORTEST_S)
        variant = seed * sounds.note_variants + index % sounds.note_variants
        layer = velocity_layer(note.velocity)
        sound = _note(sounds, voice, note.pitch_midi, duration_s, layer, sample_rate, variant, note.gesture)
        if note.handed_on:
            sound = _choked(sound, note.duration_s, sample_rate, HAND_ON_S)
        _add(out, sound * np.float32(layer_gain(note.velocity)), round(note.onset_s * sample_rate))
    return _faded_end(out, sample_rate)


def render_hits(
    hits: Sequence[TimedHit],
    *,
    length: int,
    sample_rate: int = SAMPLE_RATE,
    seed: int = 0,
    sounds: Sounds = MODELS,
) -> AudioArray:
    """The drums' stem, each piece in its place. Returns float32 (length, 2)."""
    out = np.zeros((length, 2), dtype=np.float32)
    stops_s = {drum: sorted(hit.onset_s for hit in hits if hit.drum in stops) for drum, stops in SILENCED_BY.items()}
    for index, hit in enumerate(hits):
        variant = seed * sounds.stroke_variants + index % sounds.stroke_variants
        sound = _stroke(sounds, hit.drum, drum_layer(hit), sample_rate, variant) * np.float32(drum_gain(hit))
        choke_s = _next_after(hit.onset_s, stops_s.get(hit.drum, ()))
        if choke_s is not None:
            sound = _choked(sound, choke_s - hit.onset_s, sample_rate, CHOKE_S)
        for channel, gain in enumerate(Pan(PAN.get(hit.drum, 0.0)).gains):
            _add(out[:, channel], sound * gain, round(hit.onset_s * sample_rate))
    return _faded_end(out, sample_rate)


def drum_layer(hit: TimedHit) -> float:
    """The velocity a stroke is rendered at; the count-in block has just its two pitches."""
    if hit.drum is Drum.CLICK:
        return 1.0 if hit.velocity >= drums.CLICK_ACCENT else 0.7
    return velocity_layer(hit.velocity)


def drum_gain(hit: TimedHit) -> float:
    """Amplitude that brings the layer's stroke to the hit's own loudness."""
    return float((hit.velocity / drum_layer(hit)) ** drums.VELOCITY_POWER)


def forget_renders() -> None:
    """Empty the store of shared renders, e.g. to free memory or to time from nothing."""
    _note.cache_clear()
    _stroke.cache_clear()


@lru_cache(maxsize=1024)
def _note(
    sounds: Sounds,
    voice: Voice,
    pitch_midi: int,
    duration_s: float,
    velocity: float,
    sample_rate: int,
    variant: int,
    gesture: Gesture,
) -> AudioArray:
    return sounds.note(voice, pitch_midi, duration_s, velocity, sample_rate=sample_rate, seed=variant, gesture=gesture)


@lru_cache(maxsize=256)
def _stroke(sounds: Sounds, drum: Drum, velocity: float, sample_rate: int, variant: int) -> AudioArray:
    return sounds.stroke(drum, velocity, sample_rate=sample_rate, seed=variant)


def _next_after(time_s: float, rising_s: Sequence[float]) -> float | None:
    """The first of rising times that comes after another."""
    following = bisect_right(rising_s, time_s)
    return rising_s[following] if following < len(rising_s) else None


def _choked(sound: AudioArray, after_s: float, sample_rate: int, fade_s: float) -> AudioArray:
    """Silenced ``after_s`` seconds in, over ``fade_s``."""
    at, fade = int(after_s * sample_rate), int(fade_s * sample_rate)
    if at >= len(sound):
        return sound
    sound = sound[: at + fade].copy()
    tail = len(sound) - at
    sound[at:] *= (0.5 + 0.5 * np.cos(np.pi * np.arange(1, tail + 1) / tail)).astype(np.float32)
    return sound


def _add(out: AudioArray, sound: AudioArray, at: int) -> None:
    room = len(out) - at
    if room > 0:
        out[at : at + len(sound)] += sound[:room]


def _faded_end(out: AudioArray, sample_rate: int) -> AudioArray:
    """Fade the last 10 ms: a tail that is cut must not click."""
    fade = min(len(out), int(0.01 * sample_rate))
    shape = (0.5 + 0.5 * np.cos(np.pi * np.arange(1, fade + 1) / max(fade, 1))).astype(np.float32)
    out[len(out) - fade :] *= shape if out.ndim == 1 else shape[:, None]
    return out

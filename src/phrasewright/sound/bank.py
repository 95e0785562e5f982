"""Sprites: the distinct sounds of a part, laid end to end in one audio file.

A page that schedules every note by itself, at any tempo, needs each distinct sound once. A clip is named by what
makes its sound: voice, pitch, velocity layer and gesture, or drum and layer. A pitched clip rings as long as the
longest note that uses it, then dies away undamped; the page ends shorter notes with a fade of ``RELEASE_S``. The exact
loudness of an event inside its layer is a gain (``note_gain``, ``hit_gain``), so page and stems sound alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.sound.events import SAMPLE_RATE, TimedHit, TimedNote
from phrasewright.sound.render import drum_gain, drum_layer
from phrasewright.sound.sounds import MODELS, Sounds
from phrasewright.sound.voices import Voice, layer_gain, velocity_layer

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from phrasewright.sound.modes import AudioArray

LENGTH_STEP_S = 0.1  # a clip is held for its longest note, rounded up to this
LONGEST_S = 8.0  # what is held longer has died away, or is an organ
DYING_SHARE = 0.5  # of its length a clip goes on for, dying away: for notes a page plays slower than it was made for
LONGEST_DYING_S = 0.5
TRIM_DB = -60.0
TRIM_FADE_S = 0.006
GAP_S = 0.005  # silence between clips: room for a player that starts or stops a few samples off
RELEASE_S = 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """One sound inside a sprite. start_s and length_s are whole samples."""

    key: str
    start_s: float
    length_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sprite:
    """audio: float32 (n,); clips by key in order."""

    audio: AudioArray
    sample_rate: int
    clips: tuple[Clip, ...]

    def clip(self, key: str) -> Clip:
        """The clip of a key. Raises KeyError when there is none."""
        for clip in self.clips:
            if clip.key == key:
                return clip
        raise KeyError(key)


def note_key(note: TimedNote, voice: Voice) -> str:
    """Name of the clip a note plays, e.g. ``guitar 64 0.7``; a gesture of its own is added to it."""
    return f"{voice} {note.pitch_midi} {velocity_layer(note.velocity)} {note.gesture}".rstrip()


def hit_key(hit: TimedHit) -> str:
    """Name of the clip a stroke plays, e.g. ``closed hat 0.5``."""
    return f"{hit.drum} {drum_layer(hit)}"


def note_gain(note: TimedNote) -> float:
    """Amplitude a note's clip is played with."""
    return layer_gain(note.velocity)


def hit_gain(hit: TimedHit) -> float:
    """Amplitude a stroke's clip is played with."""
    return drum_gain(hit)


def pitched_sprite(
    notes: Sequence[TimedNote],
    voice: Voice,
    *,
    sample_rate: int = SAMPLE_RATE,
    seed: int = 0,
    sounds: Sounds = MODELS,
) -> Sprite:
    """The distinct notes of a part, timed at the slowest tempo it will be played at."""
    longest: dict[str, TimedNote] = {}
    for note in notes:
        key = note_key(note, voice)
        if key not in longest or longest[key].duration_s < note.duration_s:
            longest[key] = note
    in_order = sorted(longest.items(), key=lambda item: (item[1].pitch_midi, item[0]))
    clips = ((key, _ringing(sounds, voice, note, sample_rate, seed)) for key, note in in_order)
    return _laid_out(clips, sample_rate)


def drum_sprite(
    hits: Sequence[TimedHit], *, sample_rate: int = SAMPLE_RATE, seed: int = 0, sounds: Sounds = MODELS
) -> Sprite:
    """The distinct strokes of a drum part, mono: the page puts each piece in its place (``render.PAN``)."""
    strokes = sorted({(hit.drum, drum_layer(hit)) for hit in hits}, key=lambda stroke: (stroke[0].value, stroke[1]))
    return _laid_out(
        (
            (f"{drum} {layer}", sounds.stroke(drum, layer, sample_rate=sample_rate, seed=seed))
            for drum, layer in strokes
        ),
        sample_rate,
    )


def _ringing(sounds: Sounds, voice: Voice, longest: TimedNote, sample_rate: int, seed: int) -> AudioArray:
    """A clip held for the longest note that plays it, then dying away without being damped."""
    length_s = _clip_length_s(longest.duration_s)
    dying_s = min(DYING_SHARE * length_s, LONGEST_DYING_S)
    note = sounds.note(
        voice,
        longest.pitch_midi,
        length_s + dying_s,
        velocity_layer(longest.velocity),
        sample_rate=sample_rate,
        seed=seed,
        gesture=longest.gesture,
    )
    held, dying = round((length_s + dying_s) * sample_rate), round(dying_s * sample_rate)
    sound = note[:held].copy()
    start = held - dying
    if len(sound) > start:
        sound[start:] *= _falling(dying)[: len(sound) - start]
    return sound


def _falling(length: int) -> AudioArray:
    """Half a cosine from 1 to 0, float32 (length,)."""
    return (0.5 + 0.5 * np.cos(np.pi * np.arange(1, length + 1) / max(length, 1))).astype(np.float32)


def _clip_length_s(duration_s: float) -> float:
    steps = max(math.ceil(round(duration_s / LENGTH_STEP_S, 6)), 1)
    return min(steps * LENGTH_STEP_S, LONGEST_S)


def _laid_out(sounds: Iterable[tuple[str, AudioArray]], sample_rate: int) -> Sprite:
    gap = np.zeros(int(GAP_S * sample_rate), dtype=np.float32)
    pieces: list[AudioArray] = []
    clips: list[Clip] = []
    at = 0
    for key, sound in sounds:
        kept = _trimmed(sound, sample_rate)
        clips.append(Clip(key=key, start_s=at / sample_rate, length_s=len(kept) / sample_rate))
        pieces += [kept, gap]
        at += len(kept) + len(gap)
    audio = np.concatenate(pieces) if pieces else np.zeros(0, dtype=np.float32)
    return Sprite(audio=audio, sample_rate=sample_rate, clips=tuple(clips))


def _trimmed(sound: AudioArray, sample_rate: int) -> AudioArray:
    """Without the tail that stays under ``TRIM_DB`` of the peak; the cut is faded."""
    loud = np.flatnonzero(np.abs(sound) > np.abs(sound).max(initial=0.0) * 10.0 ** (TRIM_DB / 20.0))
    kept = sound[: int(loud[-1]) + 1].copy() if len(loud) else sound[:1].copy()
    fade = min(len(kept), int(TRIM_FADE_S * sample_rate))
    kept[len(kept) - fade :] *= _falling(fade)
    return kept

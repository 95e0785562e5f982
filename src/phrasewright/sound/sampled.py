"""Single sounds from a SoundFont, played by FluidSynth (``synth``).

The synthesizer works in blocks of 64 samples and begins a note with the next one, up to 1.5 ms late. So every
distinct note is played alone from the start of a block, and ``render`` puts it on its own sample, as it does with our
models: onsets are exact, swing and strum are the same, and what sounds twice is played once. What a sample has before
its attack is cut. Bends, vibrato and slides turn the pitch wheel from block to block (``sampled_touch``).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.score.model import Drum
from phrasewright.score.technique import Damping
from phrasewright.sound import drums
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture
from phrasewright.sound.midifile import DRUM_CHANNEL, PERCUSSION, PROGRAMS, velocity_byte
from phrasewright.sound.sampled_touch import (
    KEYBOARDS,
    PALMED,
    PICK_RISE_S,
    damped,
    rise_s,
    skip_s,
    struck_midi,
    wheel_cents,
)
from phrasewright.sound.strings import VELOCITY_POWER
from phrasewright.sound.synth import BLOCK, PIECE, player
from phrasewright.sound.voices import Voice
from phrasewright.units import A4_HZ, cents_between

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

LONGEST_STROKE_S = 5.0
RELEASE_S = 0.5  # a hand damps the strings: fonts may let them ring on into the next chord
SILENCE_DB = -66.0  # where a tail is cut
ATTACK_DB = -34.0  # under the peak: what comes before this is no attack yet
LATEST_ATTACK_S = 0.12
FADE_S = 0.004  # of the cut at the end
FONT_VELOCITY_POWER = 2.0  # amplitude over velocity in a font: 40 log10(127 / velocity) dB less (SoundFont 2.04, 8.4.1)
DRUM_BANK = 128  # where a font keeps its kits (SoundFont 2, General MIDI)
LOW_BLOCK = 77  # the low wood block beside the high one of ``PERCUSSION`` (General MIDI level 1)


@dataclass(frozen=True, slots=True)
class Sampled:
    """A font at a concert pitch in Hz. Methods raise SoundError when FluidSynth is missing or the font is none."""

    font: Path
    a4_hz: float = A4_HZ

    @property
    def note_variants(self) -> int:
        """A font plays the same note always alike."""
        return 1

    @property
    def stroke_variants(self) -> int:
        """A font plays the same stroke always alike."""
        return 1

    def note(
        self,
        voice: Voice,
        pitch_midi: int,
        duration_s: float,
        velocity: float,
        *,
        sample_rate: int,
        seed: int,  # noqa: ARG002  (a font has no variants)
        gesture: Gesture = PLAIN_GESTURE,
    ) -> AudioArray:
        """One note of the voice's General MIDI program, with its gesture: float32 (n,), see ``Sounds.note``."""
        if voice in KEYBOARDS or gesture == PLAIN_GESTURE:
            sound = _cut(self._held(voice, pitch_midi, duration_s, velocity, sample_rate), sample_rate)
        else:
            sound = self._touched(voice, pitch_midi, duration_s, velocity, sample_rate, gesture)
        return sound * np.float32(velocity ** (VELOCITY_POWER - FONT_VELOCITY_POWER))

    def _touched(
        self, voice: Voice, pitch_midi: int, duration_s: float, velocity: float, sample_rate: int, gesture: Gesture
    ) -> AudioArray:
        """A note that is not just picked. What its sample has before the attack is found on the note played plainly."""
        synth = player(self.font, sample_rate)
        if gesture.damping is not Damping.OPEN and voice in PALMED and synth.offers(*_preset(Voice.MUTED_GUITAR)):
            voice = Voice.MUTED_GUITAR
        key = struck_midi(pitch_midi, gesture)
        skipped_s = skip_s(gesture)
        length_s = duration_s + skipped_s
        sound = self._held(voice, key, length_s, velocity, sample_rate)
        onset_s = _attack(sound, sample_rate) / sample_rate + skipped_s
        block_s = (np.arange(len(sound) // BLOCK + 1) + 0.5) * BLOCK / sample_rate
        wheel = wheel_cents(gesture, block_s - onset_s)
        if wheel is not None:
            sound = self._held(voice, key, length_s, velocity, sample_rate, wheel=wheel)
        sound = _ended(damped(sound[round(onset_s * sample_rate) :], gesture, sample_rate), sample_rate)
        rise = min(int(rise_s(gesture) * sample_rate), len(sound))
        sound[:rise] *= 1.0 - _falling(rise)
        return sound

    def _held(
        self,
        voice: Voice,
        key: int,
        duration_s: float,
        velocity: float,
        sample_rate: int,
        wheel: FloatArray | None = None,
    ) -> AudioArray:
        """A note as the font plays it, held and let go: float32 (n,). wheel: cents, block by block."""
        held = max(round(duration_s * sample_rate / BLOCK), 1) * BLOCK
        channel, program = _preset(voice)
        sound = player(self.font, sample_rate).play(
            channel,
            program,
            key,
            velocity_byte(velocity),
            held=held,
            longest=held + int(RELEASE_S * sample_rate),
            cents=cents_between(A4_HZ, self.a4_hz),
            wheel=wheel,
        )
        sound[held:] *= _falling(int(RELEASE_S * sample_rate))[: len(sound) - held]
        return sound

    def stroke(
        self,
        drum: Drum,
        velocity: float,
        *,
        sample_rate: int,
        seed: int,  # noqa: ARG002  (a font has no variants)
    ) -> AudioArray:
        """One stroke of the font's first kit: float32 (n,), see ``Sounds.stroke``."""
        low = drum is Drum.CLICK and velocity < drums.CLICK_ACCENT
        sound = player(self.font, sample_rate).play(
            DRUM_CHANNEL,
            (DRUM_BANK, 0),
            LOW_BLOCK if low else PERCUSSION[drum],
            velocity_byte(velocity),
            held=PIECE,
            longest=int(LONGEST_STROKE_S * sample_rate),
        )
        return _cut(sound, sample_rate) * np.float32(velocity ** (drums.VELOCITY_POWER - FONT_VELOCITY_POWER))


def _cut(sound: AudioArray, sample_rate: int) -> AudioArray:
    """Without what comes before the attack and without the inaudible tail, both cuts softened."""
    start = _attack(sound, sample_rate)
    kept = _ended(sound[start:], sample_rate)
    rise = min(int(PICK_RISE_S * sample_rate), start, len(kept))
    kept[:rise] *= np.arange(rise, dtype=np.float32) / max(rise, 1)
    return kept


def _attack(sound: AudioArray, sample_rate: int) -> int:
    """The sample on which a sound is cut: a little before its attack."""
    size = np.abs(sound)
    first = int(np.argmax(size > size.max(initial=0.0) * 10.0 ** (ATTACK_DB / 20.0)))
    return max(min(first, int(LATEST_ATTACK_S * sample_rate)) - int(PICK_RISE_S * sample_rate), 0)


def _ended(sound: AudioArray, sample_rate: int) -> AudioArray:
    """A copy without the inaudible tail, the cut softened; of silence, one sample."""
    size = np.abs(sound)
    peak = float(size.max(initial=0.0))
    if not peak:
        return sound[:1].copy()
    end = int(np.flatnonzero(size > peak * 10.0 ** (SILENCE_DB / 20.0))[-1]) + 1
    kept = sound[:end].copy()
    fade = min(int(FADE_S * sample_rate), len(kept))
    kept[len(kept) - fade :] *= _falling(fade)
    return kept


def _preset(voice: Voice) -> tuple[int, tuple[int, int]]:
    """The channel that a voice plays on, and its bank and program."""
    return [*PROGRAMS].index(voice), (0, PROGRAMS[voice])


def _falling(length: int) -> AudioArray:
    """Half a cosine from 1 to 0, float32 (length,)."""
    return (0.5 + 0.5 * np.cos(np.pi * np.arange(1, length + 1) / max(length, 1))).astype(np.float32)

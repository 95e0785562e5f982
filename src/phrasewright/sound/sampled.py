"""Single sounds from a SoundFont, played by FluidSynth (optional: package ``pyfluidsynth`` and its library).

The synthesizer works in blocks of 64 samples and begins a note with the next one, up to 1.5 ms late. So every
distinct note is played alone from the start of a block, and ``render`` puts it on its own sample, as it does with our
models: onsets are exact, swing and strum are the same, and what sounds twice is played once. What a sample has before
its attack is cut. FluidSynth's reverberation and chorus are off: the room is ours.
"""

from __future__ import annotations

import contextlib
import io
from ctypes import c_float, c_int, c_void_p
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np

from phrasewright.score.model import Drum
from phrasewright.sound import drums
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture
from phrasewright.sound.midifile import DRUM_CHANNEL, PERCUSSION, PROGRAMS, velocity_byte
from phrasewright.sound.soundfonts import INSTALL, SoundError
from phrasewright.sound.strings import VELOCITY_POWER
from phrasewright.sound.voices import Voice
from phrasewright.units import A4_HZ, CENTS_PER_SEMITONE, cents_between

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

BLOCK = 64  # samples: FluidSynth's own
PIECE = 16 * BLOCK  # played at once while a tail dies away
LONGEST_STROKE_S = 5.0
RELEASE_S = 0.5  # a hand damps the strings: fonts may let them ring on into the next chord
SILENCE_DB = -66.0  # where a tail is cut
ATTACK_DB = -34.0  # under the peak: what comes before this is no attack yet
LATEST_ATTACK_S = 0.12
RISE_S, FADE_S = 0.0003, 0.004  # the two cuts
GAIN = 0.5
FONT_VELOCITY_POWER = 2.0  # amplitude over velocity in a font: 40 log10(127 / velocity) dB less (SoundFont 2.04, 8.4.1)
COARSE_TUNE, FINE_TUNE = 51, 52  # numbers of a font's generators (SoundFont 2.04, 8.1.2)
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
        gesture: Gesture = PLAIN_GESTURE,  # noqa: ARG002  (nor bends and the like)
    ) -> AudioArray:
        """One note of the voice's General MIDI program: float32 (n,), see ``Sounds.note``."""
        held = max(round(duration_s * sample_rate / BLOCK), 1) * BLOCK
        channel = [*PROGRAMS].index(voice)
        sound = player(self.font, sample_rate).play(
            channel,
            (0, PROGRAMS[voice]),
            pitch_midi,
            velocity_byte(velocity),
            held=held,
            longest=held + int(RELEASE_S * sample_rate),
            cents=cents_between(A4_HZ, self.a4_hz),
        )
        sound[held:] *= _falling(int(RELEASE_S * sample_rate))[: len(sound) - held]
        return _cut(sound, sample_rate) * np.float32(velocity ** (VELOCITY_POWER - FONT_VELOCITY_POWER))

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


class Player:
    """A synthesizer with a font, loaded once; one note at a time, from any thread."""

    def __init__(self, font: Path, sample_rate: int) -> None:
        library = _library()
        self._sample_rate = sample_rate
        self._busy = Lock()
        self._programs: dict[int, tuple[int, int]] = {}
        self._tunings: dict[int, float] = {}
        self._synth = library.Synth(
            gain=GAIN,
            samplerate=float(sample_rate),
            channels=16,
            **{
                "synth.reverb.active": 0,
                "synth.chorus.active": 0,
                "synth.dynamic-sample-loading": 1,  # only the samples of the programs that play
            },
        )
        self._write = library.cfunc(
            "fluid_synth_write_float",
            c_int,
            *(("synth", c_void_p, 1), ("length", c_int, 1)),
            *(("left", c_void_p, 1), ("left_at", c_int, 1), ("left_step", c_int, 1)),
            *(("right", c_void_p, 1), ("right_at", c_int, 1), ("right_step", c_int, 1)),
        )
        self._set = library.cfunc(
            "fluid_synth_set_gen",
            c_int,
            *(("synth", c_void_p, 1), ("channel", c_int, 1), ("generator", c_int, 1), ("value", c_float, 1)),
        )
        self._font = self._synth.sfload(str(font))
        if self._font < 0:
            raise SoundError(f"{font} is not a SoundFont that can be read.", hint="It should end in .sf2 or .sf3.")

    def play(
        self,
        channel: int,
        program: tuple[int, int],
        key: int,
        velocity: int,
        *,
        held: int,
        longest: int,
        cents: float = 0.0,
    ) -> AudioArray:
        """One note from silence to silence, both sides together.

        program: bank and number; held, longest: samples until its release, whole blocks, and in all; cents: how far the
        channel's tuning is from 440 Hz. Returns float32 (n,), n <= longest. Raises SoundError when the font has no such
        program.
        """
        with self._busy:
            self._prepare(channel, program, cents)
            self._forget(channel, key, velocity)
            self._synth.noteon(channel, key, velocity)
            pieces = [self._next(held)]
            self._synth.noteoff(channel, key)
            for _ in range(held, longest, PIECE):
                if not self._synth.get_active_voice_count():
                    break
                pieces.append(self._next(PIECE))
            self._silence(channel)
        return np.concatenate(pieces)[:longest]

    def _prepare(self, channel: int, program: tuple[int, int], cents: float) -> None:
        if self._programs.get(channel) != program:
            if self._synth.program_select(channel, self._font, *program) < 0:
                raise SoundError(
                    f"The SoundFont has no program {program[1] + 1} in bank {program[0]}.",
                    hint="Take one with all General MIDI programs.",
                )
            self._programs[channel] = program
        if self._tunings.get(channel, 0.0) != cents:
            semitones, rest = divmod(cents, CENTS_PER_SEMITONE)
            self._set(self._synth.synth, channel, COARSE_TUNE, semitones)
            self._set(self._synth.synth, channel, FINE_TUNE, rest)
            self._tunings[channel] = cents

    def _forget(self, channel: int, key: int, velocity: int) -> None:
        """Let the note begin once unheard: a voice fades from the place in the stereo image that it had before."""
        self._synth.noteon(channel, key, velocity)
        self._next(BLOCK)
        self._silence(channel)

    def _silence(self, channel: int) -> None:
        self._synth.all_sounds_off(channel)
        self._next(BLOCK)
        for _ in range(PIECE):
            if not self._synth.get_active_voice_count():
                break
            self._next(BLOCK)

    def _next(self, length: int) -> AudioArray:
        sides = np.zeros((2, length), dtype=np.float32)
        left, right = (side.ctypes.data for side in sides)
        self._write(self._synth.synth, length, left, 0, 1, right, 0, 1)
        return np.asarray(0.5 * (sides[0] + sides[1]), dtype=np.float32)


@lru_cache(maxsize=2)
def player(font: Path, sample_rate: int) -> Player:
    """The synthesizer of a font, made once. Raises SoundError."""
    return Player(font, sample_rate)


@cache
def _library() -> Any:
    """The binding to FluidSynth, its messages silenced; its own import may print."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            import fluidsynth
    except ImportError as error:
        hint = f"{INSTALL} Then: pip install 'phrasewright[sampled]'."
        raise SoundError("Sampled sound needs FluidSynth, and it is not installed.", hint=hint) from error
    quiet = fluidsynth.cfunc(
        "fluid_set_log_function", c_void_p, ("level", c_int, 1), ("function", c_void_p, 1), ("data", c_void_p, 1)
    )
    for level in range(5):
        quiet(level, None, None)
    return fluidsynth


def _cut(sound: AudioArray, sample_rate: int) -> AudioArray:
    """Without what comes before the attack and without the inaudible tail, both cuts softened."""
    size = np.abs(sound)
    peak = float(size.max(initial=0.0))
    if not peak:
        return sound[:1]
    rise, fade = int(RISE_S * sample_rate), int(FADE_S * sample_rate)
    first = int(np.argmax(size > peak * 10.0 ** (ATTACK_DB / 20.0)))
    start = max(min(first, int(LATEST_ATTACK_S * sample_rate)) - rise, 0)
    end = int(np.flatnonzero(size > peak * 10.0 ** (SILENCE_DB / 20.0))[-1]) + 1
    kept = sound[start:end].copy()
    rise, fade = min(rise, start), min(fade, len(kept))
    kept[:rise] *= np.arange(rise, dtype=np.float32) / max(rise, 1)
    kept[len(kept) - fade :] *= _falling(fade)
    return kept


def _falling(length: int) -> AudioArray:
    """Half a cosine from 1 to 0, float32 (length,)."""
    return (0.5 + 0.5 * np.cos(np.pi * np.arange(1, length + 1) / max(length, 1))).astype(np.float32)

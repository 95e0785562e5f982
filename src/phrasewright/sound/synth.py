"""FluidSynth with one SoundFont, playing one note at a time (optional: package ``pyfluidsynth`` and its library).

It works in blocks of 64 samples and begins a note with the next one. Its reverberation and chorus are off: the room is
ours. Before it counts, every note is begun once unheard, so that it is the same whatever was played before.
"""

from __future__ import annotations

import contextlib
import io
import math
from ctypes import c_float, c_int, c_void_p
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np

from phrasewright.sound.soundfonts import INSTALL, SoundError, is_font
from phrasewright.units import CENTS_PER_SEMITONE

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

BLOCK = 64  # samples: FluidSynth's own
PIECE = 16 * BLOCK  # played at once while a tail dies away
GAIN = 0.5
COARSE_TUNE, FINE_TUNE = 51, 52  # numbers of a font's generators (SoundFont 2.04, 8.1.2)
LEAST_WHEEL_SEMITONES, WHEEL_STEPS = 2, 8192  # the usual range of a pitch wheel, and its numbers on each side


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
        self._font = self._synth.sfload(str(font)) if is_font(font) else -1
        if self._font < 0:
            hint = "It is damaged or something else: take another .sf2 or .sf3 file."
            raise SoundError(f"{font} is not a SoundFont that can be read.", hint=hint)

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
        wheel: FloatArray | None = None,
    ) -> AudioArray:
        """One note from silence to silence, both sides together.

        program: bank and number; held, longest: samples until its release, whole blocks, and in all; cents: how far the
        channel's tuning is from 440 Hz; wheel: where the pitch wheel stands in each block, in cents. Returns float32
        (n,), n <= longest. Raises SoundError when the font has no such program.
        """
        with self._busy:
            self._prepare(channel, program, cents)
            places = self._wheel_places(channel, wheel)
            self._forget(channel, key, velocity)
            self._synth.noteon(channel, key, velocity)
            pieces = [self._turned(channel, places[: held // BLOCK], held)]
            self._synth.noteoff(channel, key)
            for at in range(held, longest, PIECE):
                if not self._synth.get_active_voice_count():
                    break
                pieces.append(self._turned(channel, places[at // BLOCK :][: PIECE // BLOCK], PIECE))
            self._silence(channel)
            if places:
                self._synth.pitch_bend(channel, 0)
        return np.concatenate(pieces)[:longest]

    def offers(self, channel: int, program: tuple[int, int]) -> bool:
        """Whether the font has a program; the channel then plays it."""
        with self._busy:
            return self._selected(channel, program)

    def _selected(self, channel: int, program: tuple[int, int]) -> bool:
        if self._programs.get(channel) != program:
            if self._synth.program_select(channel, self._font, *program) < 0:
                return False
            self._programs[channel] = program
        return True

    def _wheel_places(self, channel: int, wheel: FloatArray | None) -> list[int]:
        """The wheel's numbers of some cents, its range set to what they need; the wheel stands at the first of them."""
        if wheel is None or not len(wheel):
            return []
        semitones = max(math.ceil(float(np.abs(wheel).max()) / CENTS_PER_SEMITONE), LEAST_WHEEL_SEMITONES)
        for control, value in ((101, 0), (100, 0), (6, semitones), (38, 0)):  # registered parameter 0
            self._synth.cc(channel, control, value)
        places = np.round(wheel / (CENTS_PER_SEMITONE * semitones) * WHEEL_STEPS).astype(int).tolist()
        self._synth.pitch_bend(channel, places[0])
        return [int(place) for place in places]

    def _turned(self, channel: int, places: list[int], length: int) -> AudioArray:
        """The next samples, the wheel turned before each block while there are places for it."""
        pieces = []
        for place in places:
            self._synth.pitch_bend(channel, place)
            pieces.append(self._next(BLOCK))
        rest = length - BLOCK * len(places)
        return np.concatenate([*pieces, self._next(rest)]) if rest else np.concatenate(pieces)

    def _prepare(self, channel: int, program: tuple[int, int], cents: float) -> None:
        if not self._selected(channel, program):
            raise SoundError(
                f"The SoundFont has no program {program[1] + 1} in bank {program[0]}.",
                hint="Take one with all General MIDI programs.",
            )
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

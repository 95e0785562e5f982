"""Sums of decaying sinusoids ("modes"): the engine under every ringing voice.

A struck or plucked body answers with modes ``a * exp(-d t) * sin(2 pi f t + phase)``. A decaying sinusoid is
separable: sample ``b * B + j`` of it is the product of a factor that depends on the block b and one that depends
on the place j inside the block. A whole sum of modes over a whole note is then one matrix product
(blocks x modes) @ (modes x B), which needs no recursion, has no tuning error and runs at the speed of the linear
algebra library. Modes that have fallen below ``INAUDIBLE_DB`` are left out of the later, longer sections.

Conventions: frequencies in Hz, decay rates in 1/s (amplitude falls by e in 1/rate seconds), times from the
excitation at sample 0. Source: modal synthesis is common practice (e.g. J.-M. Adrien, "The missing link: modal
synthesis", in Representations of Musical Signals, MIT Press 1991, from memory); the block form is elementary.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterator

FloatArray: TypeAlias = NDArray[np.float64]
AudioArray: TypeAlias = NDArray[np.float32]

BLOCK = 256  # samples per block: near the square root of a note's length, where the product is cheapest
FIRST_SECTION_BLOCKS = 8  # 46 ms at 44.1 kHz; each later section is twice as long
INAUDIBLE_DB = -96.0  # under the loudest mode: the 16-bit noise floor
PIECE, PIECE_MODES = 262_144, 128  # multiplications per product; rows of the inner side
NEPERS_PER_DB = np.log(10.0) / 20.0


def rate_from_db_per_s(fall_db_per_s: FloatArray | float) -> FloatArray:
    """Decay rate in 1/s of a fall in dB/s (positive = falling)."""
    return np.asarray(np.asarray(fall_db_per_s, dtype=np.float64) * NEPERS_PER_DB)


def rate_from_t60(t60_s: FloatArray | float) -> FloatArray:
    """Decay rate in 1/s of a time to fall by 60 dB, in seconds."""
    return np.asarray(60.0 * NEPERS_PER_DB / np.asarray(t60_s, dtype=np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """Modes of one strike. All arrays float64 (modes,): Hz, 1/s, linear amplitude, radians at sample 0."""

    frequency_hz: FloatArray
    decay_per_s: FloatArray
    amplitude: FloatArray
    phase: FloatArray

    def __post_init__(self) -> None:
        if len({array.shape for array in (self.frequency_hz, self.decay_per_s, self.amplitude, self.phase)}) != 1:
            raise ValueError("the arrays of a set of modes need one common shape")

    def below(self, limit_hz: float) -> Modes:
        """Only the modes under a frequency: what a sample rate can carry."""
        return self.where(self.frequency_hz < limit_hz)

    def where(self, keep: NDArray[np.bool_]) -> Modes:
        """The modes marked True."""
        return Modes(
            frequency_hz=self.frequency_hz[keep],
            decay_per_s=self.decay_per_s[keep],
            amplitude=self.amplitude[keep],
            phase=self.phase[keep],
        )

    def later(self, time_s: float) -> Modes:
        """The same modes as they stand ``time_s`` later: smaller, and turned in phase."""
        return replace(
            self,
            amplitude=self.amplitude * np.exp(-self.decay_per_s * time_s),
            phase=self.phase + 2.0 * np.pi * self.frequency_hz * time_s,
        )


def ring(modes: Modes, length: int, sample_rate: int) -> FloatArray:
    """Sound of the modes. Returns float64 (length,). Modes at or above half the sample rate are left out."""
    modes = modes.below(sample_rate / 2)
    out = np.zeros(-(-max(length, 0) // BLOCK) * BLOCK)
    within_cos, within_sin = _spiral(modes, np.arange(BLOCK) / sample_rate, np.zeros(len(modes.phase)))
    for start, stop, alive in _sections(modes, len(out), sample_rate):
        left_modes = modes.where(alive)
        block_cos, block_sin = _spiral(left_modes, np.arange(start, stop, BLOCK) / sample_rate, left_modes.phase)
        size = left_modes.amplitude.astype(np.float32)[:, None]
        left = np.concatenate((size * block_cos, size * block_sin))
        right = np.concatenate((within_sin[alive], within_cos[alive]))
        out[start:stop] = _product(left.T, right).ravel()
    return out[: max(length, 0)]


def ring_bent(modes: Modes, ratio: FloatArray, sample_rate: int) -> FloatArray:
    """Sound of the modes while their frequencies are all multiplied by ``ratio`` (n,), sample by sample.

    Decays keep their rates. Slower than ``ring`` (one sine per mode and sample); meant for bends and vibrato.
    """
    length = len(ratio)
    highest = float(ratio.max(initial=1.0))
    warped_s = np.concatenate(([0.0], np.cumsum(ratio[:-1]))) / sample_rate if length else np.zeros(0)
    out = np.zeros(length)
    modes = modes.below(sample_rate / 2 / highest)
    for start, stop, alive in _sections(modes, length, sample_rate):
        time_s = np.arange(start, stop) / sample_rate
        turned = 2.0 * np.pi * np.outer(modes.frequency_hz[alive], warped_s[start:stop])
        envelope = modes.amplitude[alive][:, None] * np.exp(-np.outer(modes.decay_per_s[alive], time_s))
        out[start:stop] = (envelope * np.sin(turned + modes.phase[alive][:, None])).sum(axis=0)
    return out


def _sections(modes: Modes, length: int, sample_rate: int) -> Iterator[tuple[int, int, NDArray[np.bool_]]]:
    """(start, stop, which modes are still audible at start), sections doubling in length."""
    size_at_0 = np.abs(modes.amplitude)
    floor = size_at_0.max(initial=0.0) * 10.0 ** (INAUDIBLE_DB / 20.0)
    start, size = 0, FIRST_SECTION_BLOCKS * BLOCK
    while start < length and floor > 0.0:
        stop = min(start + size, length)
        yield start, stop, size_at_0 * np.exp(-modes.decay_per_s * start / sample_rate) > floor
        start, size = stop, size * 2


def _product(left: AudioArray, right: AudioArray) -> AudioArray:
    """left @ right in pieces so small that the linear algebra library stays on one thread.

    Its threads gain nothing at this size, fight with whatever else runs, and would make the last bits of a sum depend
    on how many there are.
    """
    total = np.zeros((left.shape[0], right.shape[1]), dtype=np.float32)
    rows = max(PIECE // max(min(left.shape[1], PIECE_MODES) * right.shape[1], 1), 1)
    for inner in range(0, left.shape[1], PIECE_MODES):
        here = slice(inner, inner + PIECE_MODES)
        for row in range(0, left.shape[0], rows):
            total[row : row + rows] += left[row : row + rows, here] @ right[here]
    return total


def _spiral(modes: Modes, time_s: FloatArray, phase: FloatArray) -> tuple[AudioArray, AudioArray]:
    """Cosine and sine parts of each mode's decaying turn at times (n,) with starting phases; float32 (modes, n).

    The turn is reduced to one revolution in double precision first, so single precision costs no tuning.
    """
    turns = modes.frequency_hz[:, None] * time_s + phase[:, None] / (2.0 * np.pi)
    angle = ((turns - np.floor(turns)) * (2.0 * np.pi)).astype(np.float32)
    size = np.exp((-modes.decay_per_s[:, None] * time_s).astype(np.float32))
    return size * np.cos(angle), size * np.sin(angle)

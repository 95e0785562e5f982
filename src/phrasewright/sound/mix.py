"""Stems to a mix at a standard loudness.

Each stem is brought to a loudness of its own (measured, so an instrument's level does not matter), placed, and
given its share of the room. The room is shared out: every stem carries its own reverberation, so muting a stem
mutes all of it, and the stems still sum exactly to the mix because the room is linear. The sum is brought to
-18 LUFS, then a look-ahead limiter holds the true peak under -1 dBTP; on ordinary material it does nothing.

Loudness: ITU-R BS.1770-4 (K-weighting, gated), with pyloudnorm's "DeMan" filters, which read 0.04 LU truer than its
default. True peak: 4x oversampled.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
import pyloudnorm
import soxr
from scipy.ndimage import minimum_filter1d, uniform_filter1d

from phrasewright.score.model import PartRole
from phrasewright.sound.render import Pan
from phrasewright.sound.room import reverberate
from phrasewright.units import amplitude_from_db, db_from_amplitude

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray, FloatArray

TARGET_LUFS = -18.0
CEILING_DBTP = -1.0
LIMITER_MARGIN_DB = 0.15  # between the gain curve's promise and what the oversampled meter reads after it
LOOKAHEAD_S = 0.004
OVERSAMPLING = 4
BLOCK, MARGIN = 8192, 512  # samples: looked at together for peaks, and taken along on each side
QUIET_SHARE = 0.5  # of the ceiling: between samples that all stay below, no wave of ours rises to it
SHORTEST_MEASURABLE_S = 0.4  # one block of the meter
_METERING = Lock()  # tracks are mixed side by side, and filters of warnings are one for all threads


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Where a stem sits.

    loudness_lufs: before the sum is normalised, so only differences matter; pan: -1..1; send_db: to the room.
    """

    loudness_lufs: float
    pan: float = 0.0
    send_db: float = -14.0


SEATS: Mapping[PartRole, Seat] = {
    PartRole.LEAD: Seat(loudness_lufs=-18.5, send_db=-13.0),
    PartRole.CHORDS: Seat(loudness_lufs=-25.5, pan=-0.45, send_db=-12.0),
    PartRole.BASS: Seat(loudness_lufs=-23.5, send_db=-30.0),
    PartRole.DRUMS: Seat(loudness_lufs=-23.5, send_db=-15.0),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mix:
    """stems: float32 (n, 2) each, summing to ``unlimited``; master: the sum after the limiter; gains_db: what each
    dry stem was multiplied by (for a page that mixes by itself); limited_db: the limiter's deepest cut, >= 0."""

    stems: Mapping[PartRole, AudioArray]
    unlimited: AudioArray
    master: AudioArray
    gains_db: Mapping[PartRole, float]
    limited_db: float


def mix_stems(dry: Mapping[PartRole, AudioArray], sample_rate: int, *, seats: Mapping[PartRole, Seat] = SEATS) -> Mix:
    """Mix dry stems, float32 (n,) or (n, 2), all of one length; a silent stem stays silent.

    Raises ValueError without stems or when their lengths differ.
    """
    if not dry or len({len(stem) for stem in dry.values()}) != 1:
        raise ValueError("a mix needs at least one stem, and stems of one length")
    balance_db = {role: _balance_db(stem, seats[role], sample_rate) for role, stem in dry.items()}
    seated = {role: _seated(stem, balance_db[role], seats[role], sample_rate) for role, stem in dry.items()}
    bus_db = _to_target_db(_sum(seated.values()), sample_rate)
    stems = {role: stem * np.float32(amplitude_from_db(bus_db)) for role, stem in seated.items()}
    unlimited = _sum(stems.values())
    master, limited_db = limit(unlimited, sample_rate)
    gains_db = {role: level + bus_db for role, level in balance_db.items()}
    return Mix(stems=stems, unlimited=unlimited, master=master, gains_db=gains_db, limited_db=limited_db)


def mix_without(mix: Mix, role: PartRole, sample_rate: int) -> AudioArray:
    """A mix with one part left out, e.g. the lead to play along: same balance, standard loudness, limited.

    Returns float32 (n, 2); silence when nothing else plays.
    """
    others = [stem for name, stem in mix.stems.items() if name is not role]
    if not others:
        return np.zeros_like(mix.master)
    total = _sum(others)
    return limit(total * np.float32(amplitude_from_db(_to_target_db(total, sample_rate))), sample_rate)[0]


def loudness_lufs(audio: AudioArray | FloatArray, sample_rate: int) -> float:
    """Integrated loudness of (n,) or (n, channels); -inf for silence or under 0.4 s."""
    if len(audio) < SHORTEST_MEASURABLE_S * sample_rate or not np.any(audio):
        return -math.inf
    with _METERING, warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # log of the empty set when every block is gated
        loudness = pyloudnorm.Meter(sample_rate, filter_class="DeMan").integrated_loudness(
            audio.astype(np.float64, order="F")
        )
    return float(loudness) if math.isfinite(loudness) else -math.inf


def true_peak_dbtp(audio: AudioArray | FloatArray, sample_rate: int) -> float:
    """Highest inter-sample peak of (n,) or (n, channels) in dB of full scale; -inf for silence."""
    if not len(audio):
        return -math.inf
    over = soxr.resample(audio, sample_rate, OVERSAMPLING * sample_rate)
    return db_from_amplitude(float(max(np.abs(over).max(initial=0.0), np.abs(audio).max(initial=0.0))))


def limit(audio: AudioArray, sample_rate: int, *, ceiling_dbtp: float = CEILING_DBTP) -> tuple[AudioArray, float]:
    """Hold the true peak under a ceiling. audio: float32 (n, channels). Returns it and the deepest cut in dB.

    The gain falls smoothly over ``LOOKAHEAD_S`` before a peak and recovers as smoothly after it, alike on all
    channels; where no peak is near, samples pass unchanged.
    """
    ceiling = amplitude_from_db(ceiling_dbtp)
    peaks = _loudest_channel(audio)
    stretches = _loud_stretches(peaks, QUIET_SHARE * ceiling)
    for stretch in stretches:
        np.maximum(peaks[stretch], _peaks_between(audio, stretch, sample_rate), out=peaks[stretch])
    if peaks.max(initial=0.0) <= ceiling:
        return audio, 0.0
    needed = np.minimum(1.0, amplitude_from_db(ceiling_dbtp - LIMITER_MARGIN_DB) / (peaks + 1e-12))
    reach = int(LOOKAHEAD_S * sample_rate)
    held = minimum_filter1d(needed, 2 * reach + 1, mode="nearest")
    half = reach // 2 * 2 + 1  # two moving averages: a triangle as wide as the minimum was held
    gain = np.minimum(uniform_filter1d(uniform_filter1d(held, half, mode="nearest"), half, mode="nearest"), 1.0)
    limited = (audio * gain[:, None]).astype(np.float32)
    highest = max((float(_peaks_between(limited, part, sample_rate).max()) for part in stretches), default=0.0)
    excess_db = max(db_from_amplitude(highest) - ceiling_dbtp, 0.0)
    if excess_db > 0.0:
        limited *= np.float32(amplitude_from_db(-excess_db - 0.01))
    return limited, -db_from_amplitude(float(gain.min())) + excess_db


def _loud_stretches(peaks: AudioArray, floor: float) -> list[slice]:
    """Where samples reach a floor, in whole blocks with one more on each side: only there can a ceiling be passed."""
    blocks = -(-len(peaks) // BLOCK)
    padded = np.zeros(blocks * BLOCK, dtype=peaks.dtype)
    padded[: len(peaks)] = peaks
    loud = np.flatnonzero(padded.reshape(blocks, BLOCK).max(axis=1) >= floor)
    stretches: list[slice] = []
    for block in loud:
        start, stop = max(int(block) - 1, 0) * BLOCK, min((int(block) + 2) * BLOCK, len(peaks))
        if stretches and start <= stretches[-1].stop:
            stretches[-1] = slice(stretches[-1].start, stop)
        else:
            stretches.append(slice(start, stop))
    return stretches


def _peaks_between(audio: AudioArray, stretch: slice, sample_rate: int) -> AudioArray:
    """Highest inter-sample peak at and after each sample of a stretch over all channels, float32."""
    start = max(stretch.start - MARGIN, 0)
    over = soxr.resample(audio[start : stretch.stop + MARGIN], sample_rate, OVERSAMPLING * sample_rate)
    before = OVERSAMPLING * (stretch.start - start)
    there = _loudest_channel(over)[before : before + OVERSAMPLING * (stretch.stop - stretch.start)]
    length = stretch.stop - stretch.start
    whole = np.zeros(OVERSAMPLING * length, dtype=np.float32)
    whole[: len(there)] = there
    found: AudioArray = whole.reshape(length, OVERSAMPLING).max(axis=1)
    return found


def _loudest_channel(audio: AudioArray) -> AudioArray:
    loudest = np.abs(audio[:, 0])
    for channel in range(1, audio.shape[1]):
        np.maximum(loudest, np.abs(audio[:, channel]), out=loudest)
    return loudest


def _sum(stems: Iterable[AudioArray]) -> AudioArray:
    first, *others = stems
    total = first.copy()
    for stem in others:
        total += stem
    return total


def _to_target_db(audio: AudioArray, sample_rate: int) -> float:
    """Gain that brings audio to the standard loudness; none for silence."""
    loudness = loudness_lufs(audio, sample_rate)
    return TARGET_LUFS - loudness if math.isfinite(loudness) else 0.0


def _balance_db(stem: AudioArray, seat: Seat, sample_rate: int) -> float:
    loudness = loudness_lufs(stem, sample_rate)
    return seat.loudness_lufs - loudness if math.isfinite(loudness) else 0.0


def _seated(stem: AudioArray, gain_db: float, seat: Seat, sample_rate: int) -> AudioArray:
    """The stem at its loudness and place, with its share of the room. Returns float32 (n, 2)."""
    dry = stem * np.float32(amplitude_from_db(gain_db))
    mono = dry if dry.ndim == 1 else dry.mean(axis=1, dtype=np.float32)
    wide = dry[:, None] * Pan(seat.pan).gains if dry.ndim == 1 else dry
    return np.asarray(wide + reverberate(mono, sample_rate) * np.float32(amplitude_from_db(seat.send_db)))

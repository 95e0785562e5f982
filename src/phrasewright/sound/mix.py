"""Stems to a mix at a standard loudness.

Each stem is placed, given its share of the room and brought to a loudness of its own (measured, so an instrument's
level does not matter). The room is shared out: every stem carries its own reverberation, so muting a stem mutes all of
it, and the stems still sum exactly to the mix because the room is linear. The sum is brought to -18 LUFS, then a
look-ahead limiter holds the true peak under -1 dBTP; on ordinary material it does little or nothing.

Seat and room are one filter for each side, so a seated stem is one convolution, made in blocks when it is asked for; a
sum of stems is added up as spectra. All loudness comes from the products of the weighted stems, measured once.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.score.model import PartRole
from phrasewright.sound.convolve import Grid, SpectrumArray, response_spectrum, sounds, spectra
from phrasewright.sound.limiter import limit
from phrasewright.sound.loudness import StemPowers, k_weighting, loudness_lufs, stem_powers, weighted_products
from phrasewright.sound.render import Pan
from phrasewright.sound.room import impulse_response
from phrasewright.units import amplitude_from_db

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

TARGET_LUFS = -18.0
TOLERANCE_LU = 0.03  # what the limiter may take from the loudness before it is made up for
MOST_MAKE_UP_DB = 3.0  # a sound so short that the ceiling keeps it quieter than this stays quieter
MAKE_UP_ROUNDS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Where a stem sits.

    loudness_lufs: in its place, before the sum is normalised, so only differences matter; pan: -1..1; send_db: to the
    room.
    """

    loudness_lufs: float
    pan: float = 0.0
    send_db: float = -14.0


SEATS: Mapping[PartRole, Seat] = {
    PartRole.LEAD: Seat(loudness_lufs=-14.8, send_db=-13.0),
    PartRole.CHORDS: Seat(loudness_lufs=-22.3, pan=-0.45, send_db=-12.0),
    PartRole.BASS: Seat(loudness_lufs=-20.5, send_db=-30.0),
    PartRole.DRUMS: Seat(loudness_lufs=-23.4, send_db=-15.0),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeatedStems(Mapping[PartRole, "AudioArray"]):
    """Stems in their places, float32 (n, 2), each computed anew whenever it is asked for: long tracks fit in memory.

    dry: float32 (n,) or (n, 2); gains_db: what each is multiplied by.
    """

    dry: Mapping[PartRole, AudioArray]
    gains_db: Mapping[PartRole, float]
    seats: Mapping[PartRole, Seat]
    sample_rate: int

    def __getitem__(self, role: PartRole) -> AudioArray:
        return self.sum({role})

    def __iter__(self) -> Iterator[PartRole]:
        return iter(self.dry)

    def __len__(self) -> int:
        return len(self.dry)

    def sum(self, roles: Collection[PartRole], *, extra_db: float = 0.0) -> AudioArray:
        """Some of the stems together, before any limiter. Returns float32 (n, 2).

        Raises KeyError for a role that has no stem.
        """
        grid = Grid.at_rate(self.sample_rate)
        placings = [
            _placing(self.dry[role], self.seats[role], self.sample_rate, self.gains_db[role] + extra_db)
            for role in roles
        ]
        channels = [channel for role in roles for channel in _channels(self.dry[role])]
        length = len(next(iter(self.dry.values())))
        total = np.zeros((length, 2), dtype=np.float32)
        for starts in grid.starts(length) if channels else ():
            placed = _all_placed(spectra(channels, starts, grid), placings)
            together = next(placed)
            for stem in placed:
                together += stem
            for start, sides in zip(starts, sounds(together, grid), strict=True):
                for side, sound in enumerate(sides[:, : length - start]):
                    total[start : start + grid.step, side] = sound
        return total


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mix:
    """stems: sum to what goes into the limiter; master: float32 (n, 2), the mix; gains_db: what each dry stem was
    multiplied by (for a page that mixes by itself); limited_db: the limiter's deepest cut, >= 0."""

    stems: SeatedStems
    powers: StemPowers
    master: AudioArray
    gains_db: Mapping[PartRole, float]
    limited_db: float


def mix_stems(dry: Mapping[PartRole, AudioArray], sample_rate: int, *, seats: Mapping[PartRole, Seat] = SEATS) -> Mix:
    """Mix dry stems, float32 (n,) or (n, 2), all of one length; a silent stem stays silent.

    Raises ValueError without stems or when their lengths differ.
    """
    if not dry or len({len(stem) for stem in dry.values()}) != 1:
        raise ValueError("a mix needs at least one stem, and stems of one length")
    alone = _powers(dry, seats, sample_rate)
    balance_db = [
        _gain_db(seats[role].loudness_lufs, alone.lufs([float(role is other) for other in dry])) for role in dry
    ]
    bus_db = _gain_db(TARGET_LUFS, alone.lufs([amplitude_from_db(gain_db) for gain_db in balance_db]))
    gains_db = {role: gain_db + bus_db for role, gain_db in zip(dry, balance_db, strict=True)}
    stems = SeatedStems(dry=dry, gains_db=gains_db, seats=seats, sample_rate=sample_rate)
    master = stems.sum(dry.keys())
    limited_db, made_up_db = _finish(master, sample_rate)
    gains_db = {role: gain_db + made_up_db for role, gain_db in gains_db.items()}
    stems = replace(stems, gains_db=gains_db)
    return Mix(stems=stems, powers=alone, master=master, gains_db=gains_db, limited_db=limited_db)


def mix_without(mix: Mix, role: PartRole, sample_rate: int) -> AudioArray:
    """A mix with one part left out, e.g. the lead to play along: same balance, standard loudness, limited.

    Returns float32 (n, 2); silence when nothing else plays.
    """
    others = [other for other in mix.stems if other is not role]
    gains = [0.0 if other is role else amplitude_from_db(mix.gains_db[other]) for other in mix.stems]
    bus_db = _gain_db(TARGET_LUFS, mix.powers.lufs(gains))
    total = mix.stems.sum(others, extra_db=bus_db)
    _finish(total, sample_rate)
    return total


def _finish(total: AudioArray, sample_rate: int) -> tuple[float, float]:
    """Limit a sum at standard loudness in place, and make up for what that takes from the loudness.

    Returns the deepest cut and the gain that was made up, in dB.
    """
    limited_db = limit(total, sample_rate)
    made_up_db = 0.0
    for _ in range(MAKE_UP_ROUNDS if limited_db > 0.0 else 0):
        missing_db = _gain_db(TARGET_LUFS, loudness_lufs(total, sample_rate))
        raised_db = min(missing_db, MOST_MAKE_UP_DB - made_up_db)
        if raised_db <= TOLERANCE_LU:
            break
        total *= np.float32(amplitude_from_db(raised_db))
        limited_db += limit(total, sample_rate)
        made_up_db += raised_db
    return limited_db, made_up_db


def _powers(dry: Mapping[PartRole, AudioArray], seats: Mapping[PartRole, Seat], sample_rate: int) -> StemPowers:
    """Products of the placed and weighted stems, all at a gain of 1."""
    grid, weighting = Grid.at_rate(sample_rate), k_weighting(sample_rate)
    placings = [_placing(stem, seats[role], sample_rate, 0.0) * weighting for role, stem in dry.items()]
    channels = [channel for stem in dry.values() for channel in _channels(stem)]
    length = len(next(iter(dry.values())))
    products = [np.zeros((0, len(dry), len(dry)))]
    for starts in grid.starts(length):
        placed = np.stack(list(_all_placed(spectra(channels, starts, grid), placings)), axis=1)
        products += [
            weighted_products(weighted, length - start, grid)
            for start, weighted in zip(starts, sounds(placed, grid), strict=True)
        ]
    return stem_powers(products, length, grid)


def _channels(stem: AudioArray) -> list[AudioArray]:
    return [stem] if stem.ndim == 1 else [stem[:, side] for side in range(stem.shape[1])]


def _placing(stem: AudioArray, seat: Seat, sample_rate: int, gain_db: float) -> SpectrumArray:
    """From a dry stem's channels to both sides: its place and its share of the room. Returns (2, channels, bins)."""
    gain = amplitude_from_db(gain_db)
    room = response_spectrum(impulse_response(sample_rate), Grid.at_rate(sample_rate))
    wet = room * np.float32(gain * amplitude_from_db(seat.send_db))
    if stem.ndim == 1:
        return np.asarray(wet + np.float32(gain) * Pan(seat.pan).gains[:, None])[:, None]
    straight = np.float32(gain) * np.eye(2, dtype=np.float32)
    return np.asarray(straight[:, :, None] + np.float32(0.5) * wet[:, None])


def _placed(found: SpectrumArray, placing: SpectrumArray) -> SpectrumArray:
    """Spectra (blocks, channels, bins) of a stem, in their place: (blocks, 2, bins)."""
    placed: SpectrumArray = found[:, None, 0] * placing[:, 0]
    for channel in range(1, placing.shape[1]):
        placed += found[:, None, channel] * placing[:, channel]
    return placed


def _all_placed(found: SpectrumArray, placings: Sequence[SpectrumArray]) -> Iterator[SpectrumArray]:
    """Each stem's share of spectra (blocks, all channels, bins), in its place."""
    at = 0
    for placing in placings:
        yield _placed(found[:, at : at + placing.shape[1]], placing)
        at += placing.shape[1]


def _gain_db(target_lufs: float, loudness: float) -> float:
    """Gain that brings a loudness to a target; none for silence."""
    return target_lufs - loudness if math.isfinite(loudness) else 0.0

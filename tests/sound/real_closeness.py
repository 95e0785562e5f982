"""How near a plucked-string voice comes to a set of recorded notes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from real_decays import WINDOWS_S, Partials, band_ratios, decay_errors, partials
from real_notes import Picture, RealNote, distances_db, picture
from sound_measures import RATE

from phrasewright.sound import strings

VOICES = {"electric": strings.ELECTRIC, "acoustic": strings.ACOUSTIC, "nylon": strings.NYLON}
HELD_S, VELOCITY = 3.0, 0.8
IDEAL = {  # no air loss, width, response, knock, noise, amplifier; every partial loses 12 dB/s and 7 more per kHz
    "tilt": 1.0, "width": 0.0, "corner_hz": 5000.0, "corner_order": 2.0, "end_loss_db_per_s": 12.0, "comb_fill": 0.08,
    "air_loss_db_per_s": 0.0, "slow_share_db": -60.0, "slow_loss_per_khz": 0.6, "noise_db": -90.0, "drive": 0.0,
    "pluck": 0.2, "response": (), "knock": (), "string_loss": (), "bridge_loss": (),
    "end_pitch_power": 0.0, "slow_end_share": 1.0, "slow_pitch_power": 0.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reference:
    """A recorded note with what is measured on it once."""

    note: RealNote
    picture: Picture
    partials: Partials


@dataclass(frozen=True, slots=True, kw_only=True)
class Closeness:
    """Mean distance by window in dB; median error of a partial's decay in the first 0.8 s in dB/s and as a factor,
    after that as a factor; of an octave band's as a factor.
    """

    distance_db: dict[str, float]
    decay_error_db_per_s: float
    decay_factor: float
    late_factor: float
    band_factor: float


def ideal(tone: strings.StringTone) -> strings.StringTone:
    """An ideal string in place of a voice."""
    return replace(tone, pickup=None if tone.pickup is None else 0.24, **IDEAL)


def reference(note: RealNote) -> Reference:
    """A note measured."""
    return Reference(note=note, picture=picture(note.sound), partials=partials(note.sound, note.pitch_midi))


def closeness(tone: strings.StringTone, references: list[Reference]) -> Closeness:
    """A voice against the notes, each played at the note's own pitch."""
    distances, errors, ratios, late, bands = [], [], [], [], []
    for real in references:
        pitch = real.note.pitch_midi
        sound = strings.pluck(tone, pitch, HELD_S, VELOCITY, sample_rate=RATE)
        distances.append(distances_db(real.picture, picture(sound)))
        played = partials(sound, pitch)
        error, ratio = decay_errors(real.partials, played)
        late.append(decay_errors(real.partials, played, WINDOWS_S[1])[1])
        errors.append(error)
        ratios.append(ratio)
        bands.append(band_ratios(real.note.sound, sound))
    return Closeness(
        distance_db={name: float(np.mean([found[name] for found in distances])) for name in distances[0]},
        decay_error_db_per_s=float(np.median(np.abs(np.concatenate(errors)))),
        decay_factor=_factor(ratios),
        late_factor=_factor(late),
        band_factor=_factor(bands),
    )


def _factor(logs: list[np.ndarray]) -> float:
    return float(np.exp(np.median(np.abs(np.concatenate(logs)))))

"""Plucked strings: electric and acoustic guitar, palm-muted guitar, electric bass.

The string is solved by its modes rather than by a delay line: for a stiff, lossy string plucked at one point the
wave equation has the exact solution of a sum of decaying partials, so pitch, decay and tone of each partial can be
set to what real strings measure (``modes.ring`` makes the sum cheap). Per partial n of a string sounding f:

* frequency ``n f sqrt((1 + B n^2) / (1 + B))``: stiffness B; partial 1 is exactly in tune;
* amplitude of the velocity a pickup sees: ``sin(n pi p) sin(n pi q) / n`` for pluck and pickup at p and q of the
  sounding length (both stand still while the fretted length shrinks), a plectrum or finger of some width, the
  pickup-and-amplifier low-pass; for the acoustic guitar the body takes the place of the pickup;
* decay: a loss at the ends, plus one that grows with frequency, faster on heavy wound strings;
* two polarisations, the second weaker and slower and a fraction of a cent off: the two-stage decay of real strings.

Numbers are fits to the electric and acoustic notes of the open data set tonejs-instruments (see docs/sound.md for
how, and how well); the bass and the muted guitar are set by ear and by common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.signal import sosfilt

from phrasewright.sound.filters import bandpass, highpass
from phrasewright.sound.modes import AudioArray, FloatArray, Modes, rate_from_db_per_s, ring, ring_bent
from phrasewright.units import hz_from_midi

HIGHEST_PARTIAL_HZ = 12_000.0
NULL_FILL = 0.08  # a real pick and pickup have width: a comb's nulls are about 22 dB deep, not infinite
TOUCH_S = 0.008  # the damping finger lands softly
RELEASE_S = 0.11  # time for the damping finger to take 60 dB off
SILENCE_DB = -66.0  # where a tail is cut
FADE_S = 0.004  # the cut itself
PLUCK_FOLLOWS_FRET = 0.5  # 1: the picking hand never moves; 0: it keeps its share of the sounding length
BODY_SEED = 21
KNOCK_DB = -22.0  # the body's own answer to the stroke, against the note
KNOCK_S = 0.5
KNOCK_QUALITY = 4.0  # a bare resonance rings longer than the string drives it wide
VELOCITY_POWER = 1.5  # amplitude over velocity: half the velocity is 9 dB softer
SECOND_POLARISATION_CENTS = 0.4
GUITAR_OPEN_MIDI = (40, 45, 50, 55, 59, 64)
BASS_OPEN_MIDI = (28, 33, 38, 43)


@dataclass(frozen=True, slots=True, kw_only=True)
class StringTone:
    """One plucked instrument. Places are shares of the open string's length, from the bridge."""

    open_midi: tuple[int, ...] = GUITAR_OPEN_MIDI
    pluck: float
    pickup: float | None  # None: no pickup, the body radiates
    tilt: float = 1.0  # power of 1/n of the plucked spectrum
    width: float  # dB off per n^2 at 200 Hz: plectrum or finger width
    width_pitch_power: float = 0.0
    corner_hz: float  # low-pass of pickup, cable and amplifier, or of the body
    corner_order: float
    stiffness: float  # B at 200 Hz
    end_loss_db_per_s: float
    air_loss_db_per_s: float  # at 1 kHz on a string sounding 200 Hz, growing with frequency^air_power
    air_power: float = 2.0
    air_pitch_power: float  # heavier strings lose faster: (200 Hz / f)^this
    mute_loss_db_per_s: float = 0.0  # palm on the bridge
    mute_loss_per_khz: float = 0.0
    slow_share_db: float = -24.0  # second polarisation against the first
    slow_loss_per_khz: float = 0.6  # growth of its loss, as a share of the end loss
    noise_db: float  # pick noise against the note
    noise_band_hz: tuple[float, float]
    noise_s: float
    body: tuple[tuple[float, float, float], ...] = ()  # resonances: Hz, gain dB, quality
    rise_s: float = 0.0  # time for the body to answer
    drive: float = 0.0  # amplifier saturation, 0 = none
    highpass_hz: float = 35.0
    level: float = 0.25  # peak-ish amplitude at velocity 1
    variation: tuple[float, ...] = field(default=(0.0, 0.03, -0.025, 0.015))  # of the pluck place, per round robin


ELECTRIC = StringTone(
    pluck=0.214, pickup=0.275, tilt=0.52, width=0.0059, width_pitch_power=1.74, corner_hz=4200.0, corner_order=2.2,
    stiffness=4.0e-5, end_loss_db_per_s=10.7, air_loss_db_per_s=30.0, air_power=2.06, air_pitch_power=1.33,
    slow_share_db=-27.3, slow_loss_per_khz=0.61,
    noise_db=-26.0, noise_band_hz=(1800.0, 6500.0), noise_s=0.004, drive=0.35, highpass_hz=70.0,
)  # fmt: skip

ACOUSTIC = StringTone(
    pluck=0.275, pickup=None, tilt=1.07, width=0.0018, width_pitch_power=0.51, corner_hz=10_700.0, corner_order=1.2,
    stiffness=5.0e-5, end_loss_db_per_s=6.1, air_loss_db_per_s=8.7, air_power=1.85, air_pitch_power=0.94,
    slow_share_db=-17.5, slow_loss_per_khz=2.3,
    noise_db=-33.0, noise_band_hz=(2500.0, 9000.0), noise_s=0.005,
    body=((108.0, 5.0, 4.0), (205.0, 6.0, 3.0), (410.0, 3.0, 3.0), (2300.0, 4.0, 1.2)), rise_s=0.0009, highpass_hz=70.0,
    level=0.24,
)  # fmt: skip

RHYTHM = replace(  # bridge-side pickup and pick: thinner and brighter than the lead, so that the two stay apart
    ELECTRIC, pluck=0.13, pickup=0.16, width=0.004, corner_hz=5200.0, corner_order=2.0, drive=0.25, highpass_hz=110.0
)
MUTED = replace(
    RHYTHM, pluck=0.1, corner_hz=3200.0, mute_loss_db_per_s=110.0, mute_loss_per_khz=120.0, slow_share_db=-40.0
)
BASS = StringTone(
    open_midi=BASS_OPEN_MIDI, pluck=0.22, pickup=0.15, tilt=0.75, width=0.02, width_pitch_power=1.0, corner_hz=2300.0,
    corner_order=2.0, stiffness=3.0e-5, end_loss_db_per_s=7.5, air_loss_db_per_s=12.0, air_power=1.6,
    air_pitch_power=1.0, slow_share_db=-22.0, slow_loss_per_khz=2.0, noise_db=-34.0, noise_band_hz=(500.0, 2500.0),
    noise_s=0.006, drive=0.7, highpass_hz=28.0, level=0.3,
)  # fmt: skip


def pluck(
    tone: StringTone,
    pitch_midi: float,
    duration_s: float,
    velocity: float,
    *,
    sample_rate: int,
    seed: int = 0,
    bend_cents: FloatArray | None = None,
) -> AudioArray:
    """One note, attack at sample 0, damped after ``duration_s``, tail included.

    bend_cents: float64 (m,), offset in cents per sample from the attack (the last value holds), None = steady.
    Returns float32 (n,). Deterministic in all arguments; ``seed`` chooses among slightly different strokes.
    """
    modes = string_modes(tone, pitch_midi, velocity, seed=seed)
    held = max(round(duration_s * sample_rate), 1)
    if bend_cents is None:
        sound = np.concatenate((ring(modes, held, sample_rate), _released(modes, held / sample_rate, sample_rate)))
    else:
        sound = _bent(modes, held, bend_cents, sample_rate)
    for extra in (_pick_noise(tone, velocity, sample_rate, seed), _knock(tone, sample_rate)):
        sound[: len(extra)] += extra[: len(sound)]
    sound = _amplify(tone, sound, sample_rate)
    return _trim(sound * velocity**VELOCITY_POWER * tone.level, sample_rate)


def string_modes(tone: StringTone, pitch_midi: float, velocity: float, *, seed: int = 0) -> Modes:
    """The partials of one stroke, energy normalised to 1 whatever the pitch and velocity."""
    f0_hz = hz_from_midi(pitch_midi)
    partial = np.arange(1, max(int(HIGHEST_PARTIAL_HZ / f0_hz), 1) + 1, dtype=np.float64)
    stretch = stiffness_at(tone, pitch_midi)
    frequency_hz = partial * f0_hz * np.sqrt((1.0 + stretch * partial**2) / (1.0 + stretch))
    amplitude = _spectrum(tone, pitch_midi, velocity, partial, frequency_hz, seed)
    slow_db_per_s, fast_db_per_s = _decays(tone, f0_hz, frequency_hz)
    share = 10.0 ** (tone.slow_share_db / 20.0)
    detune = 2.0 ** (SECOND_POLARISATION_CENTS / 1200.0)
    size = np.abs(amplitude)
    audible = size > 3e-5 * size.max()
    return Modes(
        frequency_hz=np.concatenate((frequency_hz[audible], frequency_hz[audible] * detune)),
        decay_per_s=rate_from_db_per_s(np.concatenate((fast_db_per_s[audible], slow_db_per_s[audible]))),
        amplitude=np.concatenate((amplitude[audible] * (1.0 - share), amplitude[audible] * share)),
        phase=np.tile(_phases(tone, len(partial))[audible], 2),
    )


def sounding_length(tone: StringTone, pitch_midi: float) -> float:
    """Share of the open string left by the lowest fret that plays the pitch (1 = open)."""
    return float(2.0 ** (-min((pitch_midi - m for m in tone.open_midi if m <= pitch_midi), default=0.0) / 12.0))


def stiffness_at(tone: StringTone, pitch_midi: float) -> float:
    """Inharmonicity B: grows as a string is shortened, 1/length^2."""
    return tone.stiffness / sounding_length(tone, pitch_midi) ** 2


def _spectrum(
    tone: StringTone, pitch_midi: float, velocity: float, partial: FloatArray, frequency_hz: FloatArray, seed: int
) -> FloatArray:
    length = sounding_length(tone, pitch_midi)
    place = tone.pluck * (1.0 + tone.variation[seed % len(tone.variation)]) / length**PLUCK_FOLLOWS_FRET
    level = _comb(partial, place) / partial**tone.tilt
    if tone.pickup is not None:
        level = level * _comb(partial, tone.pickup / length)
    softness = 1.0 + 1.6 * (1.0 - velocity)  # a softer stroke is rounder
    width_db = tone.width * softness * partial**2 * (200.0 / frequency_hz[0]) ** tone.width_pitch_power
    corner = (frequency_hz / (tone.corner_hz * (0.55 + 0.5 * velocity))) ** 2
    level = level * 10.0 ** (-width_db / 20.0) / (1.0 + corner) ** (tone.corner_order / 2.0)
    for centre_hz, gain_db, quality in tone.body:
        level = level * _resonance(frequency_hz, centre_hz, gain_db, quality)
    return np.asarray(level / np.sqrt(np.sum(level**2)))


def _phases(tone: StringTone, count: int) -> FloatArray:
    """A pickup sees the bare wave, which starts at rest; a body scatters the partials' phases."""
    if tone.pickup is not None:
        return np.zeros(count)
    return np.random.default_rng(BODY_SEED).uniform(-0.5 * np.pi, 0.5 * np.pi, count)


def _comb(partial: FloatArray, place: float) -> FloatArray:
    wave = np.sin(np.pi * partial * place)
    return np.asarray(np.copysign((np.abs(wave) + NULL_FILL) / (1.0 + NULL_FILL), wave))


def _resonance(frequency_hz: FloatArray, centre_hz: float, gain_db: float, quality: float) -> FloatArray:
    detuning = quality * (frequency_hz / centre_hz - centre_hz / frequency_hz)
    return 10.0 ** (gain_db / 20.0 / (1.0 + detuning**2))


def _decays(tone: StringTone, f0_hz: float, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
    khz = frequency_hz / 1000.0
    mute = tone.mute_loss_db_per_s + tone.mute_loss_per_khz * khz
    slow = tone.end_loss_db_per_s * (1.0 + tone.slow_loss_per_khz * khz) + 0.5 * mute
    air = tone.air_loss_db_per_s * khz**tone.air_power * (200.0 / f0_hz) ** tone.air_pitch_power
    return slow, np.maximum(slow, np.sqrt(tone.end_loss_db_per_s**2 + air**2)) + mute


def _released(modes: Modes, held_s: float, sample_rate: int) -> FloatArray:
    """What is left after the finger comes down: high partials die first."""
    now = modes.later(held_s)
    grip = rate_from_db_per_s(60.0 / RELEASE_S * np.clip(now.frequency_hz / 600.0, 0.8, 2.5))
    damped = Modes(
        frequency_hz=now.frequency_hz,
        decay_per_s=now.decay_per_s + grip,
        amplitude=now.amplitude,
        phase=now.phase,
    )
    sound = ring(damped, int(1.3 * RELEASE_S * sample_rate), sample_rate)
    touch = int(TOUCH_S * sample_rate)
    share = 0.5 - 0.5 * np.cos(np.pi * np.arange(touch) / touch)
    sound[:touch] = share * sound[:touch] + (1.0 - share) * ring(now, touch, sample_rate)
    return sound


def _bent(modes: Modes, held: int, bend_cents: FloatArray, sample_rate: int) -> FloatArray:
    length = held + int(1.3 * RELEASE_S * sample_rate)
    cents = np.concatenate((bend_cents[:length], np.full(max(length - len(bend_cents), 0), bend_cents[-1])))
    sound = ring_bent(modes, 2.0 ** (cents / 1200.0), sample_rate)
    after = np.maximum(np.arange(length) - held, 0) / sample_rate
    return sound * np.exp(-rate_from_db_per_s(60.0 / RELEASE_S) * after)


def _pick_noise(tone: StringTone, velocity: float, sample_rate: int, seed: int) -> FloatArray:
    """A short rough burst as the plectrum leaves the string."""
    time_s = np.arange(int(8 * tone.noise_s * sample_rate)) / sample_rate
    rough = np.random.default_rng([seed, 7919]).standard_normal(len(time_s))
    band = bandpass(*tone.noise_band_hz, sample_rate)
    shape = np.minimum(time_s / 0.0003, 1.0) * np.exp(-time_s / tone.noise_s)
    return np.asarray(sosfilt(band, rough) * shape * 10.0 ** (tone.noise_db / 20.0) * (0.5 + velocity))


def _knock(tone: StringTone, sample_rate: int) -> FloatArray:
    """The body answering the stroke itself."""
    if not tone.body:
        return np.zeros(0)
    centre_hz = np.array([centre for centre, _, _ in tone.body])
    modes = Modes(
        frequency_hz=centre_hz,
        decay_per_s=np.pi * centre_hz / np.array([KNOCK_QUALITY * quality for _, _, quality in tone.body]),
        amplitude=np.full(len(centre_hz), 10.0 ** (KNOCK_DB / 20.0)) * np.sqrt(200.0 / centre_hz),
        phase=np.zeros(len(centre_hz)),
    )
    return ring(modes, int(KNOCK_S * sample_rate), sample_rate)


def _amplify(tone: StringTone, sound: FloatArray, sample_rate: int) -> FloatArray:
    rise = int(tone.rise_s * sample_rate)
    sound[:rise] *= np.arange(rise) / max(rise, 1)
    if tone.drive > 0.0:
        sound = np.tanh((tone.drive * sound).astype(np.float32)) / tone.drive
    return np.asarray(sosfilt(highpass(tone.highpass_hz, sample_rate), sound))


def _trim(sound: FloatArray, sample_rate: int) -> AudioArray:
    """Cut the tail where it stays under ``SILENCE_DB`` of the peak, with a short fade."""
    loud = np.flatnonzero(np.abs(sound) > np.abs(sound).max(initial=1e-9) * 10.0 ** (SILENCE_DB / 20.0))
    kept = sound[: int(loud[-1]) + 1] if len(loud) else sound[:1]
    fade = min(len(kept), int(FADE_S * sample_rate))
    kept = kept.copy()
    kept[len(kept) - fade :] *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(fade) + 1.0) / fade)
    return kept.astype(np.float32)

"""Plucked strings: electric guitar (clean, driven, muted), acoustic and nylon-string guitar, electric bass.

The string is solved by its modes rather than by a delay line: for a stiff, lossy string plucked at one point the
wave equation has the exact solution of a sum of decaying partials, so pitch, decay and tone of each partial can be
set to what real strings measure (``modes.ring`` makes the sum cheap). Per partial n of a string sounding f:

* frequency ``n f sqrt((1 + B n^2) / (1 + B))``: stiffness B; partial 1 is exactly in tune;
* amplitude of the velocity a pickup sees: ``sin(n pi p) sin(n pi q) / n`` for pluck and pickup at p and q of the
  sounding length (both stand still while the fretted length shrinks), a plectrum or finger of some width, the response
  of pickup and amplifier; for the acoustic guitars the body takes the place of the pickup;
* decay: a loss at the ends, met more often by a short string; what the body takes through the bridge, most near its
  resonances; a loss that grows with frequency, of each string's own;
* two polarisations, the second weaker and slower and a fraction of a cent off: the two-stage decay of real strings;
* the stroke itself: noise of plectrum or finger, and the knock of the body's lowest resonances.

Numbers of the electric, acoustic and nylon guitar are fits to every second note of the open data set tonejs-instruments
(docs/sound.md tells how, and how well; tools/fit_strings.py does it again), B and the knock's pitches and decays are
measured on it. Bass, rhythm and muted guitar are set by ear and by common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from scipy.signal import sosfilt

from phrasewright.sound.drive import LIGHT, Overdrive, overdrive
from phrasewright.sound.filters import bandpass, highpass
from phrasewright.sound.modes import AudioArray, FloatArray, Modes, rate_from_db_per_s, rate_from_t60, ring, ring_bent
from phrasewright.units import A4_HZ, hz_from_midi

HIGHEST_PARTIAL_HZ = 12_000.0
TOUCH_S = 0.008  # the damping finger lands softly
RELEASE_S = 0.11  # time for the damping finger to take 60 dB off
SILENCE_DB = -66.0  # where a tail is cut
FADE_S = 0.004  # the cut itself
PLUCK_FOLLOWS_FRET = 0.5  # 1: the picking hand never moves; 0: it keeps its share of the sounding length
BODY_SEED = 21
KNOCK_S = 0.5
VELOCITY_POWER = 1.5  # amplitude over velocity: half the velocity is 9 dB softer
SECOND_POLARISATION_CENTS = 0.4
HIGHEST_RECORDED_HZ = 930.0  # higher notes were not there to say how much louder the stroke becomes
BRIDGE_LOSS_SLOW = 0.35  # the second polarisation runs along the top and moves it less
GUITAR_OPEN_MIDI = (40, 45, 50, 55, 59, 64)
BASS_OPEN_MIDI = (28, 33, 38, 43)


@dataclass(frozen=True, slots=True, kw_only=True)
class StringTone:
    """One plucked instrument. Places are shares of the open string's length, from the bridge."""

    open_midi: tuple[int, ...] = GUITAR_OPEN_MIDI
    a4_hz: float = A4_HZ  # what the strings are tuned to
    pluck: float
    pickup: float | None  # None: no pickup, the body radiates
    tilt: float = 1.0  # power of 1/n of the plucked spectrum
    width: float  # dB off per n^2 at 200 Hz: plectrum or finger width
    width_pitch_power: float = 0.0
    corner_hz: float  # low-pass of pickup, cable and amplifier, or of the body
    corner_order: float
    stiffness: tuple[float, ...]  # B of each open string, in the order of ``open_midi``
    end_loss_db_per_s: float  # at the two ends, on a string sounding 200 Hz
    end_pitch_power: float = 0.0  # short strings meet their ends more often: (f / 200 Hz)^this
    air_loss_db_per_s: float  # at 1 kHz on a string sounding 200 Hz, growing with frequency^air_power
    air_power: float = 2.0
    air_pitch_power: float  # heavier strings lose faster: (200 Hz / f)^this
    string_loss: tuple[float, ...] = ()  # factor on that loss of each string; none: all alike
    bridge_loss: tuple[tuple[float, float], ...] = ()  # taken by the body through the bridge, open string: Hz, dB/s
    mute_loss_db_per_s: float = 0.0  # palm on the bridge
    mute_loss_per_khz: float = 0.0
    slow_share_db: float = -24.0  # second polarisation against the first
    slow_end_share: float = 1.0  # its loss at the ends, as a share of the first one's
    slow_loss_per_khz: float = 0.6  # growth of its loss, as a share of the end loss
    slow_pitch_power: float = 0.0  # that growth over pitch: (200 Hz / f)^this
    comb_fill: float = 0.08  # a real pick and pickup have width: a comb's nulls are about 22 dB deep, not infinite
    noise_db: float  # pick noise against the note
    noise_band_hz: tuple[float, float]
    noise_s: float
    response: tuple[tuple[float, float], ...] = ()  # of pickup and amplifier, or of the body: Hz, dB, rising in Hz
    knock: tuple[tuple[float, float, float], ...] = ()  # the body's own answer to the stroke: Hz, dB at 200 Hz, T60 s
    stroke_db_per_octave: float = 0.0  # short strings move the body less: growth of noise and knock against the note
    rise_s: float = 0.0  # time for the body to answer
    drive: float = 0.0  # amplifier saturation, 0 = none
    overdrive: Overdrive | None = None  # an amplifier that is meant to be heard, in place of that
    highpass_hz: float = 35.0
    level: float = 0.25  # peak-ish amplitude at velocity 1
    level_db_per_octave: float = 0.0  # high notes die sooner: what makes all equally loud over their first second
    variation: tuple[float, ...] = field(default=(0.0, 0.03, -0.025, 0.015))  # of the pluck place, per round robin


ELECTRIC = StringTone(
    pluck=0.217, pickup=0.285, tilt=0.664, width=0.00945, width_pitch_power=1.14, comb_fill=0.25,
    corner_hz=4200.0, corner_order=2.2, highpass_hz=70.0, level=0.25, drive=0.35,
    stiffness=(0.00018, 0.00029, 0.00021, 6.6e-05, 0.00011, 2.3e-05),
    end_loss_db_per_s=9.09, end_pitch_power=0.2, air_loss_db_per_s=60.8, air_power=1.69, air_pitch_power=0.571,
    string_loss=(0.88, 1.49, 0.93, 1.0, 1.02, 0.46),
    slow_share_db=-17.6, slow_end_share=0.376, slow_loss_per_khz=1.83, slow_pitch_power=0.866,
    noise_db=-28.4, noise_band_hz=(1800.0, 6500.0), noise_s=0.0106, stroke_db_per_octave=7.2,
    response=((80.0, -7.4), (120.0, -3.8), (170.0, -0.1), (240.0, 4.7), (340.0, 4.3), (480.0, 4.1), (700.0, 3.7),
        (1000.0, 4.4), (1500.0, 0.1), (2200.0, 4.0), (3200.0, 2.4), (4700.0, -0.0), (7500.0, -7.8)),
)  # fmt: skip

ACOUSTIC = StringTone(
    pluck=0.273, pickup=None, tilt=1.06, width=0.000685, width_pitch_power=0.502, comb_fill=0.25,
    corner_hz=10700.0, corner_order=1.2, highpass_hz=70.0, level=0.24, level_db_per_octave=1.1, rise_s=0.0009,
    stiffness=(3e-05, 2.5e-05, 3.8e-05, 0.000132, 9.4e-05, 5e-05),
    end_loss_db_per_s=4.26, end_pitch_power=0.991, air_loss_db_per_s=8.51, air_power=2.25, air_pitch_power=1.3,
    string_loss=(0.54, 0.7, 0.89, 1.72, 1.21, 0.43),
    bridge_loss=((100.0, 3.8), (150.0, 0.0), (210.0, 11.6), (300.0, 11.3), (450.0, 0.0), (800.0, 7.9), (1600.0, 0.0)),
    slow_share_db=-27.6, slow_end_share=1.0, slow_loss_per_khz=3.01, slow_pitch_power=-0.193,
    noise_db=-27.7, noise_band_hz=(2500.0, 9000.0), noise_s=0.0116, stroke_db_per_octave=-0.4,
    response=((80.0, -3.4), (120.0, 1.4), (170.0, 7.7), (240.0, 10.1), (340.0, 5.8), (480.0, 1.0), (700.0, -1.2),
        (1000.0, -1.3), (1500.0, 3.7), (2200.0, 5.1), (3200.0, 7.1), (4700.0, 4.3), (7500.0, 0.9)),
    knock=((109.0, -17.3, 0.5), (167.0, -26.3, 0.17), (213.0, -5.9, 0.21), (269.0, -22.6, 0.2), (342.0, -22.5, 0.15),
        (429.0, -20.8, 0.15)),
)  # fmt: skip

NYLON = StringTone(
    pluck=0.277, pickup=None, tilt=0.943, width=0.00936, width_pitch_power=-0.187, comb_fill=0.25,
    corner_hz=10700.0, corner_order=1.2, highpass_hz=70.0, level=0.13, level_db_per_octave=0.9, rise_s=0.0009,
    stiffness=(2.9e-05, 1.5e-05, 1.3e-05, 0.00011, 6.8e-05, 4e-05),
    end_loss_db_per_s=6.74, end_pitch_power=0.761, air_loss_db_per_s=10.7, air_power=1.52, air_pitch_power=0.463,
    string_loss=(1.01, 0.93, 0.73, 1.18, 1.32, 0.62),
    bridge_loss=((100.0, 3.0), (150.0, 2.1), (210.0, 14.1), (300.0, 0.0), (450.0, 0.0), (800.0, 0.0), (1600.0, 0.0)),
    slow_share_db=-38.5, slow_end_share=1.0, slow_loss_per_khz=1.47, slow_pitch_power=-0.5,
    noise_db=-24.5, noise_band_hz=(800.0, 5000.0), noise_s=0.0219, stroke_db_per_octave=4.3,
    response=((80.0, -6.2), (120.0, -0.3), (170.0, 6.0), (240.0, 7.5), (340.0, 5.0), (480.0, 5.4), (700.0, 7.1),
        (1000.0, 3.6), (1500.0, 2.1), (2200.0, 4.5), (3200.0, 2.2), (4700.0, 2.2), (7500.0, 2.7)),
    knock=((103.0, -19.4, 0.57), (124.0, -25.8, 0.5), (200.0, -6.9, 0.16), (248.0, -13.9, 0.22), (273.0, -25.9, 0.2),
        (400.0, -15.2, 0.12)),
)  # fmt: skip

RHYTHM = replace(  # bridge-side pickup and pick: thinner and brighter than the lead, so that the two stay apart
    ELECTRIC, pluck=0.13, pickup=0.16, width=0.004, corner_hz=5200.0, corner_order=2.0, drive=0.25, highpass_hz=150.0
)
DRIVEN = replace(  # the lead, lightly driven; on supple strings: distortion turns stretched partials into beats
    ELECTRIC, stiffness=(2.0e-5,) * 6, response=(), corner_hz=3300.0, overdrive=LIGHT, drive=0.0, level=0.15
)
MUTED = replace(
    RHYTHM, pluck=0.1, corner_hz=3200.0, mute_loss_db_per_s=110.0, mute_loss_per_khz=120.0, slow_share_db=-40.0
)
BASS = StringTone(
    open_midi=BASS_OPEN_MIDI, pluck=0.22, pickup=0.15, tilt=0.75, width=0.02, width_pitch_power=1.0, corner_hz=2300.0,
    corner_order=2.0, stiffness=(3.0e-5,) * 4, end_loss_db_per_s=7.5, air_loss_db_per_s=12.0, air_power=1.6,
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
    strokes = strokes_of(tone, pitch_midi, velocity, sample_rate, seed)
    return sounded(tone, modes, duration_s, velocity, sample_rate=sample_rate, strokes=strokes, bend_cents=bend_cents)


def strokes_of(
    tone: StringTone, pitch_midi: float, velocity: float, sample_rate: int, seed: int
) -> tuple[FloatArray, ...]:
    """What a stroke adds to the ringing string: the plectrum's noise, the body's knock. Each float64 (n,)."""
    gain = stroke_gain(tone, pitch_midi)
    return gain * _pick_noise(tone, velocity, sample_rate, seed), gain * _knock(tone, sample_rate)


def sounded(
    tone: StringTone,
    modes: Modes,
    duration_s: float,
    velocity: float,
    *,
    sample_rate: int,
    strokes: tuple[FloatArray, ...] = (),
    bend_cents: FloatArray | None = None,
) -> AudioArray:
    """Partials as they come out of the amplifier or body: held for ``duration_s``, then damped, tail included.

    strokes: added at sample 0, see ``strokes_of``; bend_cents: as for ``pluck``. Returns float32 (n,).
    """
    held = max(round(duration_s * sample_rate), 1)
    if bend_cents is None:
        sound = np.concatenate((ring(modes, held, sample_rate), _released(modes, held / sample_rate, sample_rate)))
    else:
        sound = _bent(modes, held, bend_cents, sample_rate)
    for extra in strokes:
        sound[: len(extra)] += extra[: len(sound)]
    sound = _amplify(tone, sound, velocity, sample_rate)
    return _trim(sound * velocity**VELOCITY_POWER * tone.level, sample_rate)


def string_modes(tone: StringTone, pitch_midi: float, velocity: float, *, seed: int = 0) -> Modes:
    """The partials of one stroke; energy 1 on a string sounding 200 Hz, whatever the velocity."""
    f0_hz = hz_from_midi(pitch_midi, tone.a4_hz)
    partial = np.arange(1, max(int(HIGHEST_PARTIAL_HZ / f0_hz), 1) + 1, dtype=np.float64)
    stretch = stiffness_at(tone, pitch_midi)
    frequency_hz = partial * f0_hz * np.sqrt((1.0 + stretch * partial**2) / (1.0 + stretch))
    amplitude = _spectrum(tone, pitch_midi, velocity, partial, frequency_hz, seed)
    amplitude = amplitude * _rise(tone.level_db_per_octave, f0_hz)
    slow_db_per_s, fast_db_per_s = _decays(tone, pitch_midi, frequency_hz)
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
    return float(2.0 ** (-max(pitch_midi - tone.open_midi[string_of(tone, pitch_midi)], 0.0) / 12.0))


def string_of(tone: StringTone, pitch_midi: float) -> int:
    """The string on which the pitch lies lowest, counted from 0, the lowest."""
    return max(sum(pitch_midi > open_midi - 0.5 for open_midi in tone.open_midi) - 1, 0)


def stiffness_at(tone: StringTone, pitch_midi: float) -> float:
    """Inharmonicity B: that of the open string, grown as it is shortened, 1/length^2."""
    return tone.stiffness[string_of(tone, pitch_midi)] / sounding_length(tone, pitch_midi) ** 2


def stroke_gain(tone: StringTone, pitch_midi: float) -> float:
    """How much louder than on a string sounding 200 Hz the stroke itself is, its noise and its knock."""
    f0_hz = hz_from_midi(pitch_midi)
    return _rise(tone.stroke_db_per_octave, min(f0_hz, HIGHEST_RECORDED_HZ)) * _rise(tone.level_db_per_octave, f0_hz)


def _rise(db_per_octave: float, f0_hz: float) -> float:
    return float(10.0 ** (db_per_octave * np.log2(f0_hz / 200.0) / 20.0))


def _spectrum(
    tone: StringTone, pitch_midi: float, velocity: float, partial: FloatArray, frequency_hz: FloatArray, seed: int
) -> FloatArray:
    length = sounding_length(tone, pitch_midi)
    place = tone.pluck * (1.0 + tone.variation[seed % len(tone.variation)]) / length**PLUCK_FOLLOWS_FRET
    level = _comb(partial, place, tone.comb_fill) / partial**tone.tilt
    if tone.pickup is not None:
        level = level * _comb(partial, tone.pickup / length, tone.comb_fill)
    softness = 1.0 + 1.6 * (1.0 - velocity)  # a softer stroke is rounder
    width_db = tone.width * softness * partial**2 * (200.0 / frequency_hz[0]) ** tone.width_pitch_power
    corner = (frequency_hz / (tone.corner_hz * (0.55 + 0.5 * velocity))) ** 2
    level = level * 10.0 ** (-width_db / 20.0) / (1.0 + corner) ** (tone.corner_order / 2.0)
    level = level * 10.0 ** (_between(tone.response, frequency_hz) / 20.0)
    return np.asarray(level / np.sqrt(np.sum(level**2)))


def _phases(tone: StringTone, count: int) -> FloatArray:
    """A pickup sees the bare wave, which starts at rest; a body scatters the partials' phases."""
    if tone.pickup is not None:
        return np.zeros(count)
    return np.random.default_rng(BODY_SEED).uniform(-0.5 * np.pi, 0.5 * np.pi, count)


def _comb(partial: FloatArray, place: float, fill: float) -> FloatArray:
    wave = np.sin(np.pi * partial * place)
    return np.asarray(np.copysign((np.abs(wave) + fill) / (1.0 + fill), wave))


def _between(curve: tuple[tuple[float, float], ...], frequency_hz: FloatArray) -> FloatArray:
    """A curve of (Hz, value) points at some frequencies: straight over log frequency; 0 without points."""
    if not curve:
        return np.zeros(len(frequency_hz))
    at_hz, value = np.array(curve).T
    return np.asarray(np.interp(np.log(frequency_hz), np.log(at_hz), value))


def _decays(tone: StringTone, pitch_midi: float, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
    khz = frequency_hz / 1000.0
    height = 200.0 / hz_from_midi(pitch_midi)
    mute = tone.mute_loss_db_per_s + tone.mute_loss_per_khz * khz
    end = tone.end_loss_db_per_s * height**-tone.end_pitch_power
    growth = tone.end_loss_db_per_s * tone.slow_loss_per_khz * khz * height**tone.slow_pitch_power
    slow = tone.slow_end_share * end + growth + 0.5 * mute
    air = tone.air_loss_db_per_s * khz**tone.air_power * height**tone.air_pitch_power
    if tone.string_loss:
        air = air * tone.string_loss[string_of(tone, pitch_midi)]
    bridge = _between(tone.bridge_loss, frequency_hz) / sounding_length(tone, pitch_midi)
    slow = slow + BRIDGE_LOSS_SLOW * bridge
    return slow, np.maximum(slow, np.sqrt(end**2 + air**2) + bridge) + mute


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


@lru_cache(maxsize=64)
def _knock(tone: StringTone, sample_rate: int) -> FloatArray:
    """The body answering the stroke itself; not to be written to."""
    if not tone.knock:
        return np.zeros(0)
    frequency_hz, level_db, t60_s = np.array(tone.knock).T
    modes = Modes(
        frequency_hz=frequency_hz,
        decay_per_s=rate_from_t60(t60_s),
        amplitude=10.0 ** (level_db / 20.0),
        phase=np.zeros(len(frequency_hz)),
    )
    return ring(modes, int(KNOCK_S * sample_rate), sample_rate)


def _amplify(tone: StringTone, sound: FloatArray, velocity: float, sample_rate: int) -> FloatArray:
    rise = int(tone.rise_s * sample_rate)
    sound[:rise] *= np.arange(rise) / max(rise, 1)
    if tone.overdrive is not None:
        return overdrive(tone.overdrive, sound, velocity, sample_rate)
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

"""Instruments that tests measure sound with; independent of the code under test."""

from __future__ import annotations

import numpy as np

from phrasewright.units import cents_between

RATE = 44_100
FRAME, HOP, BANDS, FRAMES = 2048, 1024, 40, 60
RANGE_DB = 60.0


def cents_off(
    sound, pitch_midi: int, *, skip_s: float = 0.05, length_s: float = 1.5, rate: int = RATE, a4_hz: float = 440.0
) -> float:
    """Cents by which the strongest partial within half a semitone of a pitch is off.

    Blackman window, zero-padded transform, parabola through three log magnitudes: better than 0.01 cent on a sine.
    """
    wanted_hz = a4_hz * 2.0 ** ((pitch_midi - 69) / 12.0)
    piece = np.asarray(sound, dtype=np.float64)[int(skip_s * rate) :][: int(length_s * rate)]
    size = 1 << 18
    spectrum = np.abs(np.fft.rfft(piece * np.blackman(len(piece)), size))
    step_hz = rate / size
    low, high = int(wanted_hz * 0.972 / step_hz), int(wanted_hz * 1.029 / step_hz)
    peak = low + int(spectrum[low:high].argmax())
    before, here, after = np.log(spectrum[peak - 1 : peak + 2])
    found_hz = (peak + 0.5 * (before - after) / (before - 2 * here + after)) * step_hz
    return cents_between(wanted_hz, found_hz)


def onset_samples(sound, *, share: float = 0.1) -> int:
    """First sample above a share of the peak."""
    size = np.abs(sound) if sound.ndim == 1 else np.abs(sound).max(axis=1)
    return int(np.argmax(size > share * size.max()))


def fall_db_per_s(sound, from_s: float, to_s: float, *, rate: int = RATE) -> float:
    """How fast the level falls between two times: straight line through 50 ms levels."""
    frame = int(0.05 * rate)
    starts = np.arange(int(from_s * rate), int(to_s * rate) - frame, frame)
    levels = [10.0 * np.log10(np.mean(np.asarray(sound[s : s + frame], dtype=np.float64) ** 2) + 1e-20) for s in starts]
    return -float(np.polyfit(starts / rate, levels, 1)[0])


def fall_time_s(sound, fall_db: float, *, rate: int = RATE) -> float:
    """Time until the energy still to come has fallen by so many dB (backward integration)."""
    left = np.cumsum(np.asarray(sound, dtype=np.float64)[::-1] ** 2)[::-1]
    return float(np.argmax(left < left[0] * 10.0 ** (-fall_db / 10.0))) / rate


def centroid_hz(sound, *, rate: int = RATE) -> float:
    """Middle of the power spectrum."""
    power = np.abs(np.fft.rfft(np.asarray(sound, dtype=np.float64))) ** 2
    return float(np.sum(power * np.fft.rfftfreq(len(sound), 1.0 / rate)) / np.sum(power))


def band_share(sound, low_hz: float, high_hz: float, *, rate: int = RATE) -> float:
    """Share of the energy between two frequencies."""
    power = np.abs(np.fft.rfft(np.asarray(sound, dtype=np.float64))) ** 2
    frequency = np.fft.rfftfreq(len(sound), 1.0 / rate)
    return float(power[(frequency >= low_hz) & (frequency < high_hz)].sum() / power.sum())


def rms(sound) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(np.asarray(sound, dtype=np.float64) ** 2)))


def bands():
    """Triangular mel bands from 60 Hz to 10 kHz, (bands, bins)."""
    mel = np.linspace(2595 * np.log10(1 + 60 / 700), 2595 * np.log10(1 + 10_000 / 700), BANDS + 2)
    edges = 700 * (10 ** (mel / 2595) - 1)
    bins = np.fft.rfftfreq(2 * FRAME, 1 / RATE)
    rows = zip(edges, edges[1:], edges[2:], strict=False)
    return np.array([np.clip(np.minimum((bins - a) / (b - a), (c - bins) / (c - b)), 0, None) for a, b, c in rows])


def log_spectrum(sound, filters):
    """Level in dB of each band in the first 60 frames (1.4 s), (bands, frames)."""
    padded = np.pad(np.asarray(sound, dtype=np.float64), (0, max(0, FRAMES * HOP + FRAME - len(sound))))
    frames = np.array([padded[i * HOP : i * HOP + FRAME] * np.hanning(FRAME) for i in range(FRAMES)])
    return 10 * np.log10(filters @ (np.abs(np.fft.rfft(frames, 2 * FRAME)) ** 2).T + 1e-12)


def distance_db(real, model):
    """Root mean square difference of two log spectra after level alignment, over the top 60 dB."""
    audible = real > real.max() - 50.0
    model = model + np.mean((real - model)[audible])
    floor = real.max() - RANGE_DB
    return float(np.sqrt(np.mean((np.maximum(real, floor) - np.maximum(model, floor)) ** 2)))

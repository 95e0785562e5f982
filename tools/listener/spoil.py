"""What happens to a guitar on its way into a file: hands, amplifier, room, band, noise, phones, levels.

Every kind is drawn from wide ranges, far wider than any one test: noise that nobody modelled is the real risk.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, fftconvolve, lfilter, sosfilt
from tools.listener.shape import RATE_HZ


def rms_where_loud(x: np.ndarray) -> float:
    """Level of the parts within 30 dB of the loudest."""
    blocks = np.sqrt(np.mean(x[: len(x) // 800 * 800].reshape(-1, 800) ** 2, axis=1))
    return float(np.sqrt(np.mean(blocks[blocks >= blocks.max() * 0.03] ** 2)) + 1e-9)


def coloured(rng, count: int, power: float) -> np.ndarray:
    """Noise whose spectrum falls with frequency^power (0 white, 1 pink, 2 brown), rms 1."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hz = np.maximum(np.arange(len(spectrum)), 20.0)
    x = np.fft.irfft(spectrum / hz ** (power / 2), count)
    return (x / (x.std() + 1e-12)).astype(np.float32)


def burst(rng, lasts_s: float, low_hz: float, high_hz: float, rises: float) -> np.ndarray:
    """A short noise between two frequencies, peak 1."""
    count = max(int(lasts_s * RATE_HZ), 16)
    sos = butter(2, [low_hz, min(high_hz, 0.47 * RATE_HZ)], "band", fs=RATE_HZ, output="sos")
    x = sosfilt(sos, rng.standard_normal(count + 300))[300:]
    t = np.linspace(0, 1, count)
    x = x * np.minimum(1, t / max(rises, 1e-3)) * (1 - t) ** rng.uniform(0.7, 2.5)
    return (x / (np.abs(x).max() + 1e-9)).astype(np.float32)


def add(x: np.ndarray, piece: np.ndarray, at_s: float) -> None:
    """Mix a piece in at a time."""
    begin = int(at_s * RATE_HZ)
    skip, room = max(0, -begin), min(len(piece), len(x) - begin)
    if room > skip:
        x[begin + skip : begin + room] += piece[skip:room]


def hand_noises(rng, x: np.ndarray, spans: list[tuple[float, float]], guitar) -> None:
    """Pick clicks, squeaks, thumps when notes stop, brushes against strings, strings that ring along."""
    peak = np.abs(x).max() + 1e-6
    much = rng.uniform(0.1, 1.0)
    level = lambda low, high: np.float32(peak * 10 ** (rng.uniform(low, high) / 20))  # noqa: E731
    length_s = len(x) / RATE_HZ
    for onset_s, end_s in spans:
        if rng.random() < 0.4 * much:
            add(
                x,
                burst(rng, rng.uniform(0.003, 0.01), 1200, 7500, 0.2) * level(-30, -10),
                onset_s - rng.uniform(0.004, 0.03),
            )
        if rng.random() < 0.3 * much:
            low = rng.uniform(900, 3500)
            add(
                x,
                burst(rng, rng.uniform(0.03, 0.15), low, low * rng.uniform(1.3, 2.2), 0.4) * level(-38, -16),
                end_s - rng.uniform(-0.05, 0.08),
            )
        if rng.random() < 0.4 * much:
            add(
                x,
                burst(rng, rng.uniform(0.006, 0.03), 60, rng.uniform(250, 700), 0.15) * level(-34, -14),
                end_s + rng.uniform(-0.01, 0.02),
            )
        if rng.random() < 0.2 * much:
            brush = burst(rng, rng.uniform(0.02, 0.06), 120, rng.uniform(1200, 7000), 0.05)
            add(x, brush * level(-22, -6), end_s + rng.uniform(0.03, 0.4))
    for _ in range(int(rng.integers(0, 6) * much)):
        note = guitar.notes[rng.integers(len(guitar.notes))]
        ringing = note.audio[note.attack + 6000 :: 2][: int(3 * RATE_HZ)].copy()
        if len(ringing) > 2000:
            ringing[:1000] *= np.linspace(0, 1, 1000, dtype=np.float32)
            add(x, ringing / (np.abs(ringing).max() + 1e-9) * level(-44, -26), rng.uniform(0, length_s - 1))
    if rng.random() < 0.3 * much:
        for _ in range(int(rng.integers(1, 5))):
            add(
                x,
                burst(rng, rng.uniform(0.02, 0.2), 40, rng.uniform(150, 3000), 0.1) * level(-26, -6),
                rng.uniform(0, length_s),
            )


@dataclass(slots=True)
class Spoiler:
    """bands, speech: other sounds, float32 at ``RATE_HZ``."""

    bands: list[np.ndarray]
    speech: list[np.ndarray]

    def spoil(self, rng, x: np.ndarray, *, empty: bool) -> np.ndarray:
        """A take as a file has it. empty: there is no guitar in it."""
        level = rms_where_loud(x) if not empty else 0.05
        if not empty:
            if rng.random() < 0.45:
                x = equalised(rng, x, rng.uniform(2, 9))
            if rng.random() < 0.3:
                x = amplified(rng, x)
                level = rms_where_loud(x)
            if rng.random() < 0.2:
                x = compressed(rng, x)
                level = rms_where_loud(x)
        if rng.random() < (0.5 if empty else 0.35):
            x = x + self.band(rng, len(x)) * np.float32(level * 10 ** (rng.uniform(-32, -6) / 20))
        if rng.random() < (0.4 if empty else 0.04):
            x = x + self.talk(rng, len(x)) * np.float32(
                level * 10 ** (rng.uniform(-30, -12) / 20 + (1 if empty else 0))
            )
        if rng.random() < 0.5:
            x = roomy(rng, x)
        if rng.random() < 0.85:
            noise = coloured(rng, len(x), rng.choice([0.0, 1.0, 1.0, 2.0]))
            x = x + noise * np.float32(level * 10 ** (-rng.uniform(14, 60) / 20))
        if rng.random() < 0.25:
            t = np.arange(len(x)) / RATE_HZ
            mains = rng.choice([50.0, 60.0])
            hum = sum(
                rng.uniform(0, 1) / h * np.sin(2 * np.pi * mains * h * t + rng.uniform(0, 6)) for h in range(1, 8)
            )
            x = x + (hum * level * 10 ** (-rng.uniform(26, 55) / 20)).astype(np.float32)
        x = x + (rng.standard_normal(len(x)) * level * 10 ** (-66 / 20)).astype(np.float32)
        if rng.random() < 0.3:
            x = narrowed(rng, x)
        if rng.random() < 0.08:
            ceiling = np.quantile(np.abs(x), rng.uniform(0.97, 0.999))
            x = np.clip(x, -ceiling, ceiling)
        return x.astype(np.float32)

    def band(self, rng, count: int) -> np.ndarray:
        """Some of a band, at rms 1 where it is loud."""
        x = np.zeros(count, dtype=np.float32)
        if rng.random() < 0.65 and self.bands:
            piece = self.bands[rng.integers(len(self.bands))]
            speed = rng.uniform(0.85, 1.2)
            begin = rng.uniform(0, max(len(piece) - count * speed, 1))
            x = np.interp(begin + speed * np.arange(count), np.arange(len(piece)), piece, right=0.0).astype(np.float32)
        else:
            x = simple_band(rng, count)
        if rng.random() < 0.6:
            x = equalised(rng, x, 8.0)
        return x / np.float32(rms_where_loud(x))

    def talk(self, rng, count: int) -> np.ndarray:
        """Somebody speaks."""
        piece = self.speech[rng.integers(len(self.speech))]
        speed = rng.uniform(0.8, 1.25)
        x = np.interp(
            np.arange(count) * speed + rng.uniform(-0.5, 0.5) * len(piece),
            np.arange(len(piece)),
            piece,
            left=0.0,
            right=0.0,
        )
        return (x / rms_where_loud(x)).astype(np.float32)


def simple_band(rng, count: int) -> np.ndarray:
    """Drums, bass and a held chord, made of sines and noise."""
    x = np.zeros(count, dtype=np.float32)
    beat_s = 60 / rng.uniform(60, 170)
    root = rng.integers(12)
    parts = rng.random(4) < (0.8, 0.7, 0.7, 0.6)
    t = np.arange(int(0.5 * RATE_HZ)) / RATE_HZ
    kick = (
        np.sin(2 * np.pi * (rng.uniform(42, 65) * t + rng.uniform(1, 4) * (1 - np.exp(-t * 35))))
        * np.exp(-t * rng.uniform(8, 18))
    ).astype(np.float32)
    snare = (
        rng.standard_normal(len(t)) * np.exp(-t * rng.uniform(12, 30)) * 0.6
        + np.sin(2 * np.pi * rng.uniform(160, 240) * t) * np.exp(-t * 25) * 0.5
    ).astype(np.float32)
    hat = burst(rng, rng.uniform(0.03, 0.15), 5000, 7800, 0.01) * 0.5
    at_s, beat = rng.uniform(-1, 0), 0
    while at_s < count / RATE_HZ:
        if parts[0]:
            add(x, kick if beat % 2 == 0 else snare, at_s)
        if parts[1]:
            add(x, hat, at_s)
            add(x, hat * 0.6, at_s + 0.5 * beat_s)
        chord = root + (0, 5, 7, 9)[(beat // 4) % 4]
        if parts[2]:
            add(x, tones(rng, [28 + chord % 12], beat_s * 0.9, 2.5, 1.3) * 0.6, at_s)
        if parts[3] and beat % 4 == 0:
            add(
                x,
                tones(rng, [48 + chord % 12 + s for s in (0, 3 if rng.random() < 0.5 else 4, 7)], 4 * beat_s, 0.5, 1.5)
                * 0.3,
                at_s,
            )
        at_s += beat_s
        beat += 1
    return x


def tones(rng, pitches, lasts_s: float, decays: float, tilt: float) -> np.ndarray:
    """Sums of harmonics."""
    t = np.arange(int(lasts_s * RATE_HZ)) / RATE_HZ
    x = np.zeros(len(t))
    for midi in pitches:
        hz = 440 * 2 ** ((midi + rng.normal(0, 0.04) - 69) / 12)
        for h in range(1, 9):
            if h * hz < 7500:
                x += np.sin(2 * np.pi * hz * h * t + rng.uniform(0, 6)) / h**tilt
    return (x * np.minimum(1, t / 0.01) * np.exp(-t * decays)).astype(np.float32)


def equalised(rng, x: np.ndarray, range_db: float) -> np.ndarray:
    """Smoothly other in its spectrum: a microphone, a loudspeaker, a tone control."""
    spectrum = np.fft.rfft(x)
    hz = np.fft.rfftfreq(len(x), 1 / RATE_HZ)
    knots = np.geomspace(50, 8000, 9)
    gains_db = np.interp(np.log(np.maximum(hz, 30)), np.log(knots), rng.normal(0, range_db / 2, 9))
    return np.fft.irfft(spectrum * 10 ** (gains_db / 20), len(x)).astype(np.float32)


def amplified(rng, x: np.ndarray) -> np.ndarray:
    """Through an amplifier that is driven a little or a lot."""
    x = x / (np.abs(x).max() + 1e-9)
    hiss = coloured(rng, len(x), 0.0) * np.float32(10 ** (-rng.uniform(60, 80) / 20))
    b, a = butter(1, rng.uniform(60, 250), "high", fs=RATE_HZ)
    x = lfilter(b, a, x + hiss)
    drive = 10 ** (rng.uniform(3, 36) / 20)
    bias = rng.uniform(0, 0.3) if rng.random() < 0.4 else 0.0
    x = np.tanh(x * drive + bias) - np.tanh(bias)
    b, a = butter(2, rng.uniform(2200, 7000), fs=RATE_HZ)
    x = lfilter(b, a, x)
    b, a = butter(1, rng.uniform(50, 120), "high", fs=RATE_HZ)
    return (lfilter(b, a, x) * 0.3).astype(np.float32)


def compressed(rng, x: np.ndarray) -> np.ndarray:
    """Evened out by a compressor."""
    blocks = 80
    count = len(x) // blocks
    level = np.sqrt(np.mean(x[: count * blocks].reshape(count, blocks) ** 2, axis=1)) + 1e-5
    keep = np.exp(-blocks / RATE_HZ / rng.uniform(0.03, 0.25))
    level = lfilter([1 - keep], [1, -keep], level)
    gain = (np.maximum(level, level.max() * 0.02) / level.max()) ** -rng.uniform(0.2, 0.7)
    return (x * np.interp(np.arange(len(x)), np.arange(count) * blocks, gain)).astype(np.float32)


def roomy(rng, x: np.ndarray) -> np.ndarray:
    """In a room, from near or far."""
    decay_s = float(np.exp(rng.uniform(np.log(0.12), np.log(1.3))))
    count = int(min(decay_s, 1.0) * 1.1 * RATE_HZ)
    t = np.arange(count) / RATE_HZ
    tail = rng.standard_normal(count) * np.exp(-6.91 * t / decay_s)
    b, a = butter(1, rng.uniform(1500, 7000), fs=RATE_HZ)
    tail = lfilter(b, a, tail)
    tail[: int(rng.uniform(0.001, 0.02) * RATE_HZ)] = 0
    for _ in range(int(rng.integers(0, 6))):
        tail[int(rng.uniform(0.002, 0.04) * RATE_HZ) % count] += rng.normal(0, 2)
    tail /= np.sqrt((tail**2).sum()) + 1e-9
    direct_db = rng.uniform(-4, 14)
    return x + np.float32(10 ** (-direct_db / 20)) * fftconvolve(x, tail)[: len(x)].astype(np.float32)


def narrowed(rng, x: np.ndarray) -> np.ndarray:
    """Through something that passes only some frequencies: a phone, an old microphone, 8 kHz."""
    if rng.random() < 0.7:
        b, a = butter(int(rng.choice([1, 2, 4])), rng.uniform(2800, 7500), fs=RATE_HZ)
        x = lfilter(b, a, x)
    if rng.random() < 0.6:
        b, a = butter(int(rng.choice([1, 2])), rng.uniform(60, 350), "high", fs=RATE_HZ)
        x = lfilter(b, a, x)
    return x.astype(np.float32)

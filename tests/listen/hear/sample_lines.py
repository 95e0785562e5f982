"""Lines put together from recorded notes (data/guitar_samples), with their truth: when, how long, how high."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import soundfile
import soxr

RATE_HZ = 16_000
NAMES = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
DAMPED_S = 0.02


def recorded_notes(data_dir: Path, guitar: str) -> dict[int, tuple[np.ndarray, float]]:
    """(sound from 5 ms before its attack, Hz) of every recorded note of a guitar, by MIDI number."""
    notes = {}
    with (data_dir / "guitar_samples" / "true_pitch.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["guitar"] != guitar:
                continue
            named = int(row["midi_from_file_name"])
            path = data_dir / "guitar_samples" / guitar / f"{NAMES[named % 12]}{named // 12 - 1}.mp3"
            audio, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
            begin = int(row["attack_sample_44k1"]) - int(0.005 * rate_hz)
            sound = soxr.resample(audio[max(begin, 0) :].mean(axis=1), rate_hz, RATE_HZ)
            hz = float(row["true_f0_hz"])
            notes[round(69 + 12 * np.log2(hz / 440.0))] = (sound, hz)
    return notes


def sample_line(data_dir: Path, guitar: str, *, seed: int, length_s: float = 12.0) -> tuple[np.ndarray, np.ndarray]:
    """(audio float32 (n,) at ``RATE_HZ``, truth (notes, 3): onset s, offset s, Hz): recorded notes as they are."""
    rng = np.random.default_rng(seed)
    notes = recorded_notes(data_dir, guitar)
    pitches = sorted(notes)
    audio = np.zeros(int(length_s * RATE_HZ), dtype=np.float32)
    truth = []
    at_s, place = 0.4, len(pitches) // 2
    while at_s < length_s - 1.2:
        gap_s = float(rng.choice([0.18, 0.25, 0.375, 0.5, 0.75]))
        lasts_s = gap_s * float(rng.uniform(0.75, 0.98))
        sound, hz = notes[pitches[place]]
        piece = sound[: int((lasts_s + 8 * DAMPED_S) * RATE_HZ)].copy()
        off = int((lasts_s + 0.005) * RATE_HZ)
        piece[off:] *= np.exp(-np.arange(max(len(piece) - off, 0)) / (DAMPED_S * RATE_HZ)).astype(np.float32)
        begin = int((at_s - 0.005) * RATE_HZ)
        audio[begin : begin + len(piece)] += piece[: len(audio) - begin]
        truth.append((at_s, at_s + lasts_s, hz))
        place = int(np.clip(place + rng.choice([-2, -1, 1, 2]), 3, len(pitches) - 3))
        at_s += gap_s
    return audio / np.abs(audio).max() * np.float32(0.6), np.array(truth)


def in_a_room(audio: np.ndarray, *, decay_s: float, seed: int) -> np.ndarray:
    """With the tail of a small room, 4 dB softer than the guitar itself."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(decay_s * RATE_HZ)) / RATE_HZ
    tail = rng.standard_normal(len(time_s)) * np.exp(-6.9 * time_s / decay_s)
    tail *= 10 ** (-4 / 20) / np.sqrt((tail**2).sum())
    wet = np.convolve(audio, np.concatenate([np.zeros(160), tail]))[: len(audio)]
    return (audio + wet).astype(np.float32)

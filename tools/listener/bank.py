"""The notes that training takes are made of, each with its pitch and the sample of its attack.

Kept at twice the take's rate (and empty above its half), so that reading them at another speed needs no filter.
Besides recorded notes and a font's there are guitars of our own string model, every one with other numbers.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.signal import resample_poly
from tools.listener.shape import RATE_HZ

from phrasewright.score.technique import Damping
from phrasewright.sound import strings, touched
from phrasewright.sound.gesture import Gesture

BANK_HZ = 2 * RATE_HZ
NOTE_S = 3.0
TONES = (strings.ELECTRIC, strings.ACOUSTIC, strings.NYLON, strings.RHYTHM, strings.DRIVEN, strings.BASS)


@dataclass(frozen=True, slots=True)
class BankNote:
    """One sounding note: float32 (n,) at ``BANK_HZ``, its frequency, where its attack begins."""

    hz: float
    audio: np.ndarray
    attack: int


@dataclass(frozen=True, slots=True)
class Guitar:
    """One instrument: its notes, from low to high."""

    name: str
    notes: tuple[BankNote, ...]

    @property
    def lowest_midi(self) -> float:
        return 69 + 12 * np.log2(self.notes[0].hz / 440.0)

    @property
    def highest_midi(self) -> float:
        return 69 + 12 * np.log2(self.notes[-1].hz / 440.0)

    def near(self, hz: float, rng: np.random.Generator) -> BankNote:
        """A note to make a pitch of: mostly the nearest, now and then one beside it."""
        away = np.abs([np.log2(note.hz / hz) for note in self.notes])
        order = np.argsort(away)
        return self.notes[order[1] if len(order) > 1 and rng.random() < 0.25 and away[order[1]] < 0.3 else order[0]]


def attack_of(audio: np.ndarray, rate_hz: int) -> int:
    """Where the level over 1 ms first comes within 20 dB of the attack's loudest."""
    span = max(rate_hz // 1000, 1)
    level = np.sqrt(np.convolve(audio**2, np.ones(span) / span, "same") + 1e-14)
    begin = int(np.argmax(level > 0.02 * level[: int(0.4 * rate_hz)].max()))
    loudest = level[begin : begin + int(0.15 * rate_hz)].max()
    return begin + int(np.argmax(level[begin:] > 0.1 * loudest))


def gathered_guitars(pieces: dict[str, np.ndarray]) -> list[Guitar]:
    """The recorded guitars and the font's."""
    found: dict[str, list[BankNote]] = {}
    for name, audio in pieces.items():
        if not name.startswith("note/"):
            continue
        _, guitar, hz = name.split("/")
        double = resample_poly(audio.astype(np.float32) / 32_000, 2, 1).astype(np.float32)
        found.setdefault(guitar, []).append(BankNote(float(hz), double, attack_of(double, BANK_HZ)))
    return [Guitar(name, tuple(sorted(notes, key=lambda note: note.hz))) for name, notes in found.items()]


def modelled_guitars(how_many: int, seed: int, workers: int) -> list[Guitar]:
    """Guitars of the string model, each with its own strings, pick, pickup and losses."""
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(_modelled, [(seed, number) for number in range(how_many)]))


def _modelled(key: tuple[int, int]) -> Guitar:
    rng = np.random.default_rng(key)
    kind = int(rng.choice(len(TONES), p=(0.3, 0.25, 0.2, 0.1, 0.1, 0.05)))
    tone = TONES[kind]
    times = lambda low, high: float(np.exp(rng.uniform(np.log(low), np.log(high))))  # noqa: E731
    tone = replace(
        tone,
        pluck=float(rng.uniform(0.06, 0.45)),
        pickup=None if tone.pickup is None else float(rng.uniform(0.05, 0.3)),
        tilt=tone.tilt * times(0.75, 1.3),
        width=tone.width * times(0.5, 2.0),
        corner_hz=tone.corner_hz * times(0.6, 1.8),
        end_loss_db_per_s=tone.end_loss_db_per_s * times(0.6, 3.0),
        air_loss_db_per_s=tone.air_loss_db_per_s * times(0.5, 2.0),
        noise_db=tone.noise_db + float(rng.uniform(-12, 8)),
        response=tuple((hz, db + float(rng.normal(0, 3))) for hz, db in tone.response),
        stiffness=tuple(b * times(0.5, 2.0) for b in tone.stiffness),
        mute_loss_db_per_s=tone.mute_loss_db_per_s + (float(rng.uniform(30, 120)) if rng.random() < 0.12 else 0.0),
    )
    lowest = 28 if tone.open_midi[0] < 36 else 36
    notes = []
    for midi in range(lowest + int(rng.integers(3)), lowest + 52 if lowest > 30 else 64, 3):
        velocity = float(rng.uniform(0.35, 1.0))
        audio = touched.play(tone, midi, NOTE_S, velocity, sample_rate=BANK_HZ, seed=int(rng.integers(4)))
        ahead = np.zeros(int(0.006 * BANK_HZ), dtype=np.float32)
        notes.append(BankNote(440.0 * 2.0 ** ((midi - 69) / 12), _narrow(np.concatenate([ahead, audio])), len(ahead)))
    return Guitar(f"model-{kind}-{key[1]}", tuple(notes))


def dead_strokes(how_many: int, seed: int) -> list[np.ndarray]:
    """Strokes on a damped string, at ``RATE_HZ``, beginning at once."""
    rng = np.random.default_rng(seed)
    dead = Gesture(damping=Damping.DEAD)
    made = []
    for number in range(how_many):
        tone = replace(TONES[int(rng.integers(5))], pluck=float(rng.uniform(0.08, 0.4)))
        midi = int(rng.integers(40, 72))
        stroke = touched.play(tone, midi, 0.1, 0.8, sample_rate=BANK_HZ, seed=number % 4, gesture=dead)
        made.append(resample_poly(stroke, 1, 2).astype(np.float32))
    return made


def _narrow(audio: np.ndarray) -> np.ndarray:
    """Without what a take's rate cannot hold."""
    return resample_poly(resample_poly(audio, 1, 2), 2, 1).astype(np.float32)


def load(folder: Path) -> dict[str, np.ndarray]:
    """All gathered pieces by name."""
    with np.load(folder / "gathered.npz") as file:
        return {name: file[name] for name in file.files}

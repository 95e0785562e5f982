"""Recorded guitar notes, and the distance of a sound from one; independent of the code under test.

The notes: open data set tonejs-instruments (CC-BY 3.0), in data/guitar_samples; their pitches and attacks were
measured once and stand beside them in true_pitch.csv (one file there sounds a semitone over its name: the measured
pitch counts).
What lies 60 dB under a note's loudest band is the recording's business (hum, coding noise), not the guitar's.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache

import numpy as np
import soundfile
from sound_measures import RANGE_DB, RATE, bands, log_spectrum

NAMES = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
GUITARS = ("electric", "acoustic", "nylon")
ATTACK_FRAME, ATTACK_HOP = 1024, 256
WINDOWS_S = {"attack": (0.0, 0.06), "early": (0.06, 0.4), "late": (0.4, 1.4)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RealNote:
    """One recorded note from its attack on; pitch in (fractional) MIDI as it really sounds."""

    pitch_midi: float
    sound: np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """Band levels in dB of one sound, (bands, frames): its attack in short frames, 1.4 s of it in long ones."""

    attack: np.ndarray
    whole: np.ndarray


def recorded(folder, guitar) -> list[RealNote]:
    """Every note of a guitar, low to high."""
    with (folder / "true_pitch.csv").open(newline="") as rows:
        notes = [_note(folder / guitar, row) for row in csv.DictReader(rows) if row["guitar"] == guitar]
    return sorted(notes, key=lambda note: note.pitch_midi)


def _note(folder, row) -> RealNote:
    written = int(row["midi_from_file_name"])
    sound, _ = soundfile.read(folder / f"{NAMES[written % 12]}{written // 12 - 1}.mp3")
    pitch = 69.0 + 12.0 * np.log2(float(row["true_f0_hz"]) / 440.0)
    return RealNote(pitch_midi=float(pitch), sound=sound[int(row["attack_sample_44k1"]) :])


@cache
def filters() -> np.ndarray:
    """The mel bands, computed once."""
    return bands()


def picture(sound) -> Picture:
    """Both pictures of a sound from its attack on."""
    return Picture(attack=_attack(np.asarray(sound, dtype=np.float64)), whole=log_spectrum(sound, filters()))


def _attack(sound) -> np.ndarray:
    """Frames of 23 ms that lie within the first 60 ms, on the scale of ``log_spectrum``."""
    starts = range(0, int(WINDOWS_S["attack"][1] * RATE) - ATTACK_FRAME, ATTACK_HOP)
    padded = np.pad(sound[: 4 * ATTACK_FRAME], (0, 4 * ATTACK_FRAME))
    frames = np.array([padded[start : start + ATTACK_FRAME] * np.hanning(ATTACK_FRAME) for start in starts])
    return 10.0 * np.log10(filters() @ (4.0 * np.abs(np.fft.rfft(frames, 4 * ATTACK_FRAME)) ** 2).T + 1e-12)


def differences_db(real: Picture, model: Picture) -> Picture:
    """Real less model, each cut at 60 dB under the real note's top, after one level alignment for both pictures."""
    shift = np.mean((real.whole - model.whole)[real.whole > real.whole.max() - 50.0])
    pairs = ((real.attack, model.attack + shift), (real.whole, model.whole + shift))
    cut = [np.maximum(a, a.max() - RANGE_DB) - np.maximum(b, a.max() - RANGE_DB) for a, b in pairs]
    return Picture(attack=cut[0], whole=cut[1])


def distances_db(real: Picture, model: Picture) -> dict[str, float]:
    """Root mean square difference in dB over the whole 1.4 s, and within each of ``WINDOWS_S``."""
    apart = differences_db(real, model)
    middle_s = (np.arange(apart.whole.shape[1]) + 1.0) * 1024 / RATE
    inside = {
        name: apart.whole[:, (middle_s >= low) & (middle_s < high)]
        for name, (low, high) in WINDOWS_S.items()
        if name != "attack"
    }
    found = {"whole": apart.whole, "attack": apart.attack} | inside
    return {name: float(np.sqrt(np.mean(values**2))) for name, values in found.items()}

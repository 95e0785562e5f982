"""Collect what training takes are made of, in one folder: recorded notes, a font's notes, bands, speech, note lists.

usage: python -m tools.listener.gather OUT [--data DIR] [--font FILE]

Recorded notes: data/guitar_samples (tonejs-instruments, CC BY 3.0). A font's: FluidR3 (MIT), guitars and basses, two
loudnesses. Bands: our own, every groove, models and font. Speech: espeak-ng, as what is not a guitar. Note lists: the
annotated solos of data/guitarset, less the two whose audio is a check of the project, and data/wjazzd, for when people
play which notes. Everything at 16 kHz, 16 bit; times in seconds.
"""

from __future__ import annotations

import argparse
import csv
import io
import lzma
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

from phrasewright.sound.synth import player

RATE_HZ = 16_000
NOTE_S, BAND_S = 2.5, 12.0
PROGRAMS = {24: "nylon", 25: "steel", 26: "jazz", 27: "clean", 28: "muted", 29: "overdriven", 30: "distorted"}
BASSES = {32: "upright", 33: "fingered", 34: "picked"}
KEPT_OUT = ("00_BN1-129-Eb_solo", "05_Rock1-130-A_solo")  # their audio judges the listener
SENTENCES = (
    "Good evening, and welcome to the spring concert of our little school by the harbour.",
    "Play it again a little slower, and leave more room between the two ideas.",
    "One, two, three, four. No, wait, my string is out of tune. Let me start once more.",
    "The weather tomorrow will be cloudy with some rain in the north and a fresh wind from the sea.",
)


def main() -> None:
    """Write all of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--font", type=Path, default=Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"))
    wish = parser.parse_args()
    wish.out.mkdir(parents=True, exist_ok=True)
    sounds: dict[str, np.ndarray] = {}
    for name, hz, audio in (*recorded(wish.data), *font_notes(wish.font)):
        sounds[f"note/{name}/{hz:.4f}"] = whole_numbers(audio)
    for number, audio in enumerate(bands()):
        sounds[f"band/{number}"] = whole_numbers(audio)
    for number, audio in enumerate(speech()):
        sounds[f"speech/{number}"] = whole_numbers(audio)
    for name, rows in note_lists(wish.data):
        sounds[f"list/{name}"] = rows
    np.savez_compressed(wish.out / "gathered.npz", **sounds)
    print(f"{len(sounds)} pieces")


def whole_numbers(audio: np.ndarray) -> np.ndarray:
    """16 bit, as loud as they allow."""
    return np.round(audio / max(np.abs(audio).max(), 1e-6) * 32_000).astype(np.int16)


def recorded(data: Path):
    """The recorded notes at their measured pitch."""
    for row in csv.DictReader((data / "guitar_samples" / "true_pitch.csv").open()):
        path = _by_midi(data / "guitar_samples" / row["guitar"], int(row["midi_from_file_name"]))
        audio, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
        mono = soxr.resample(audio.mean(axis=1), rate_hz, RATE_HZ)[: int(3 * RATE_HZ)]
        yield f"recorded-{row['guitar']}", float(row["true_f0_hz"]), mono


def _by_midi(folder: Path, midi: int) -> Path:
    names = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
    return folder / f"{names[midi % 12]}{midi // 12 - 1}.mp3"


def font_notes(font: Path):
    """Every third semitone of a font's guitars and basses."""
    synth = player(font, RATE_HZ)
    for channel, (program, name) in enumerate((*PROGRAMS.items(), *BASSES.items())):
        lowest, highest = (28, 62) if program in BASSES else (38, 88)
        for key in range(lowest, highest, 3):
            for velocity in (60, 110):
                held = int(NOTE_S * RATE_HZ) // 64 * 64
                sound = synth.play(
                    channel if channel < 9 else channel + 1, (0, program), key, velocity, held=held, longest=held
                )
                mono = sound.mean(axis=1) if sound.ndim > 1 else sound
                yield f"font-{name}-{velocity}", 440.0 * 2.0 ** ((key - 69) / 12.0), mono[: int(NOTE_S * RATE_HZ)]


def bands():
    """Some seconds of the band in every groove, at some tempo and key."""
    grooves = sorted(
        path.stem for path in (Path(sys.modules["phrasewright"].__path__[0]) / "band" / "grooves").glob("*.toml")
    )
    rng = np.random.default_rng(5)
    with tempfile.TemporaryDirectory() as folder:
        for number, groove in enumerate(grooves):
            meter = {"waltz": "3/4", "slow-12-8": "12/8"}.get(groove, "4/4")
            for sound in ("models", "sampled"):
                form = ("blues", "minor-vamp")[number % 2]
                key = ("C", "E", "A", "G", "D", "F", "Bb", "Eb")[int(rng.integers(8))]
                tempo = str(int(rng.integers(70, 150)))
                out = Path(folder) / f"{groove}-{sound}"
                words = [
                    "track",
                    form,
                    "--key",
                    key,
                    "--groove",
                    groove,
                    "--tempo",
                    tempo,
                    "--choruses",
                    "1",
                    "--meter",
                    meter,
                ]
                command = [
                    sys.executable,
                    "-m",
                    "phrasewright",
                    *words,
                    "--sound",
                    sound,
                    "--files",
                    "wav",
                    "--stems",
                    "wav",
                    "--out",
                    str(out),
                ]
                if subprocess.run(command, capture_output=True, check=False).returncode:
                    print("no band:", groove, meter, file=sys.stderr)
                    continue
                path = next(path for path in out.rglob("*.wav") if "stem" not in str(path))
                audio, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
                start = int(2 * rate_hz)
                yield soxr.resample(audio.mean(axis=1)[start : start + int(BAND_S * rate_hz)], rate_hz, RATE_HZ)


def speech():
    """People talking, made by a speech synthesizer."""
    for number, sentence in enumerate(SENTENCES * 2):
        voice = ("en+m3", "en+f2", "en+m7", "en+f4", "de+m2", "fr+f3", "en+croak", "en+whisper")[number]
        command = ["espeak-ng", "-v", voice, "-s", str(130 + 12 * number), "--stdout", sentence]
        audio, rate_hz = soundfile.read(
            io.BytesIO(subprocess.run(command, capture_output=True, check=True).stdout), dtype="float32"
        )
        yield soxr.resample(audio, rate_hz, RATE_HZ)[: int(8 * RATE_HZ)]


def note_lists(data: Path):
    """(name, float32 (n, 3)): onset, duration in s, pitch; by onset."""
    for path in sorted((data / "guitarset" / "notes").glob("*.csv")):
        if path.stem in KEPT_OUT:
            continue
        rows = [
            (float(r["onset_s"]), float(r["duration_s"]), float(r["midi_pitch_float"]))
            for r in csv.DictReader(path.open())
        ]
        yield f"guitarset-{path.stem}", np.array(sorted(rows), dtype=np.float32)
    with lzma.open(data / "wjazzd" / "notes.csv.xz", "rt") as file:
        solos: dict[str, list] = {}
        for r in csv.DictReader(file):
            if r["duration_s"]:
                solos.setdefault(r["melid"], []).append(
                    (float(r["onset_s"]), float(r["duration_s"]), float(r["pitch"]))
                )
    for name in list(solos)[::6]:
        yield f"wjazzd-{name}", np.array(sorted(solos[name]), dtype=np.float32)


if __name__ == "__main__":
    main()

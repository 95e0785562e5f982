"""Fit the odds of a stroke of ``listen/hear/attack.py``, and print its table.

usage: PYTHONPATH=src:tests:tests/listen/hear python tools/fit_attack.py FOLDER...

Each FOLDER holds takes ``<name>.flac`` with ``<name>.json``: {"notes": [{"onset", "offset", "midi", "tech"}, ...]}, as
a maker of test takes writes them; "legato" and "slide" are notes that were not struck. Lines of the string models
are added. Only notes that follow on the one before, within the reach of a hand, are learned from. The onsets are
scattered by 4 ms first, since a transcription knows them no better.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile
import soxr
from played_lines import played_line
from scipy.optimize import minimize

from phrasewright.listen.hear.attack import BANDS_HZ, FEATURES, attacks_of
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.score.technique import DEAD, Start
from phrasewright.sound.voices import Voice

VOICES = (Voice.GUITAR, Voice.ACOUSTIC_GUITAR, Voice.DRIVEN_GUITAR, Voice.NYLON_GUITAR)
LINES = range(100, 132)
JITTER_S, SEED = 0.004, 5
CONNECTED_S, REACH = 0.03, range(1, 6)
UNSTRUCK = ("legato", "slide")
RIDGE = 1.0

Example = tuple[str, tuple[float, ...], bool]  # kind of take, features, struck


def from_takes(folder: Path) -> Iterator[Example]:
    """The notes of assembled takes."""
    for file in sorted(folder.glob("*.json")):
        take = json.loads(file.read_text())
        if "notes" not in take:
            continue
        sound, rate = soundfile.read(file.with_suffix(".flac"), dtype="float32")
        audio = soxr.resample(sound, rate, RATE_HZ).astype(np.float32)
        notes, scatter = take["notes"], np.random.default_rng(SEED).normal(0.0, JITTER_S, len(take["notes"]))
        attacks = attacks_of(audio, [max(note["onset"] + off, 0.0) for note, off in zip(notes, scatter, strict=True)])
        for before, note, attack in zip(notes, notes[1:], attacks[1:], strict=False):
            follows = note["onset"] - before["offset"] < CONNECTED_S
            if follows and abs(note["midi"] - before["midi"]) in REACH:
                yield take["cond"], attack.features_db, note["tech"] not in UNSTRUCK


def from_lines() -> Iterator[Example]:
    """The notes of lines that the string models play."""
    for seed in LINES:
        line = played_line(seed, VOICES[seed % len(VOICES)])
        attacks = attacks_of(line.audio, [note.onset_s for note in line.rough])
        pairs = zip(line.notes, line.notes[1:], line.rough, line.rough[1:], attacks[1:], strict=False)
        for before, note, rough_before, rough, attack in pairs:
            follows = rough.onset_s - rough_before.offset_s < CONNECTED_S
            if follows and DEAD not in (note.touch, before.touch) and note.touch.start is not Start.SLID:
                yield "lines", attack.features_db, not note.touch.is_legato


def fitted(examples: list[Example]) -> tuple[float, tuple[float, ...]]:
    """Bias and weights."""
    features = np.array([row for _, row, _ in examples])
    struck = np.array([label for _, _, label in examples])
    middle, spread = features.mean(axis=0), features.std(axis=0)
    scaled = np.column_stack([np.ones(len(features)), (features - middle) / spread])
    sign = np.where(struck, 1.0, -1.0)

    def loss(weights: np.ndarray) -> tuple[float, np.ndarray]:
        margin = sign * (scaled @ weights)
        pull = -sign / (1.0 + np.exp(np.minimum(margin, 50.0)))
        ridge = RIDGE * np.concatenate([[0.0], weights[1:]])
        return float(np.logaddexp(0.0, -margin).sum() + ridge @ ridge), scaled.T @ pull + 2 * RIDGE * ridge

    weights = minimize(loss, np.zeros(scaled.shape[1]), jac=True, method="L-BFGS-B").x
    plain = weights[1:] / spread
    return float(weights[0] - plain @ middle), tuple(plain.tolist())


def main() -> None:
    """Fit and print."""
    examples = [example for folder in sys.argv[1:] for example in from_takes(Path(folder))]
    bias, weights = fitted([*examples, *from_lines()])
    print("WEIGHTS = (")
    for band in range(0, len(weights), len(FEATURES) // len(BANDS_HZ)):
        print(f"    {', '.join(f'{weight:.4f}' for weight in weights[band : band + 6])},")
    print(")")
    print(f"BIAS = {bias:.4f}")


if __name__ == "__main__":
    main()

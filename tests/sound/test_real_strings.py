"""The string models against recorded guitar notes (open data set tonejs-instruments)."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
import soundfile
from sound_measures import RATE, bands, distance_db, log_spectrum

from phrasewright.sound import strings

NAMES = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
TEXTBOOK = {  # an ideal string: no air loss, no width, no body, one polarisation, no noise, no amplifier
    "tilt": 1.0, "width": 0.0, "corner_hz": 5000.0, "corner_order": 2.0, "end_loss_db_per_s": 12.0,
    "air_loss_db_per_s": 0.0, "slow_share_db": -60.0, "noise_db": -90.0, "drive": 0.0, "pluck": 0.2, "body": (),
}  # fmt: skip


def recorded(folder, guitar):
    """(pitch, samples from the attack on) of every note of a guitar."""
    with (folder / "true_pitch.csv").open(newline="") as rows:
        for row in csv.DictReader(rows):
            pitch = int(row["midi_from_file_name"])
            path = folder / guitar / f"{NAMES[pitch % 12]}{pitch // 12 - 1}.mp3"
            if row["guitar"] == guitar and path.exists():
                yield pitch, soundfile.read(path)[0][int(row["attack_sample_44k1"]) :]


@pytest.mark.parametrize(("guitar", "tone", "bound_db"), [("electric", "ELECTRIC", 5.6), ("acoustic", "ACOUSTIC", 5.3)])
def test_models_are_close_to_real_notes(data_dir, guitar, tone, bound_db):
    """Mean log-spectral distance over the first 1.4 s of every fourth note: far under an ideal string's.

    Source: data/guitar_samples (CC-BY 3.0, tonejs-instruments). Figures for all notes: docs/sound.md.
    """
    fitted = getattr(strings, tone)
    ideal = replace(fitted, pickup=None if fitted.pickup is None else 0.24, **TEXTBOOK)
    filters = bands()
    ours, textbook = [], []
    for pitch, sound in list(recorded(data_dir / "guitar_samples", guitar))[::4]:
        real = log_spectrum(sound, filters)
        for model, found in ((fitted, ours), (ideal, textbook)):
            note = strings.pluck(model, pitch, 1.5, 0.8, sample_rate=RATE)
            found.append(distance_db(real, log_spectrum(note, filters)))
    assert np.mean(ours) < bound_db
    assert np.mean(ours) < 0.75 * np.mean(textbook)

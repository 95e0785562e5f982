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


def compare(folder, guitar, *, every):
    """Mean distance in dB of an ideal string and of our string from every n-th recorded note."""
    fitted = getattr(strings, guitar.upper())
    ideal = replace(fitted, pickup=None if fitted.pickup is None else 0.24, **TEXTBOOK)
    filters = bands()
    found = []
    for pitch, sound in list(recorded(folder, guitar))[::every]:
        real = log_spectrum(sound, filters)
        notes = [strings.pluck(tone, pitch, 1.5, 0.8, sample_rate=RATE) for tone in (ideal, fitted)]
        found.append([distance_db(real, log_spectrum(note, filters)) for note in notes])
    textbook_db, ours_db = np.mean(found, axis=0)
    return float(textbook_db), float(ours_db)


@pytest.mark.parametrize(("guitar", "bound_db"), [("electric", 5.6), ("acoustic", 5.3)])
def test_models_are_close_to_real_notes(data_dir, guitar, bound_db):
    """Mean log-spectral distance over the first 1.4 s of every fourth note: far under an ideal string's.

    Source: data/guitar_samples (CC-BY 3.0, tonejs-instruments). Figures for all notes: docs/sound.md.
    """
    textbook_db, ours_db = compare(data_dir / "guitar_samples", guitar, every=4)
    assert ours_db < bound_db
    assert ours_db < 0.75 * textbook_db

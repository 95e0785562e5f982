"""How near the plucked strings are to recorded notes: distance of log spectra, error of decay, stiffness.

    python benchmarks/bench_strings.py [path/to/guitar_samples]

For each guitar: an ideal string, our voice on all notes, on the half it was fitted to and on the half it never saw, and
what two neighbouring recorded notes differ by when one is brought to the other's pitch: no smooth model of a guitar can
expect to be much nearer than that. Distances in dB (tests/sound/real_notes.py), decays of partials as median error in
dB/s and as a factor, decays of octave bands as a factor (tests/sound/real_decays.py).
"""

from __future__ import annotations

import argparse
import itertools
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soxr

from phrasewright.sound import strings

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "sound"))

from real_closeness import VOICES, Closeness, closeness, ideal, reference
from real_decays import partials
from real_notes import GUITARS, RealNote, distances_db, picture, recorded
from sound_measures import RATE

DATA = Path(__file__).resolve().parents[2] / "shared" / "data" / "guitar_samples"


def neighbours_db(notes: list[RealNote]) -> float:
    """Mean distance of each recorded note from the next, resampled to its pitch, both ways."""
    found = []
    for pair in itertools.pairwise(notes):
        for here, there in (pair, pair[::-1]):
            ratio = 2.0 ** ((here.pitch_midi - there.pitch_midi) / 12.0)
            moved = soxr.resample(there.sound, RATE * ratio, RATE)
            found.append(distances_db(picture(here.sound), picture(moved))["whole"])
    return float(np.mean(found))


def table(guitar: str, notes: list[RealNote], say: Callable[[str], None]) -> None:
    """One guitar's rows."""
    tone = VOICES[guitar]
    references = [reference(note) for note in notes]
    rows = {
        "ideal string": (ideal(tone), references),
        "ours, all": (tone, references),
        "ours, fitted half": (tone, references[::2]),
        "ours, other half": (tone, references[1::2]),
    }
    for name, (voice, chosen) in rows.items():
        say(f"{guitar:<9}{name:<18}{len(chosen):3d}  {line(closeness(voice, chosen))}")
    say(f"{guitar:<9}{'next real note':<18}{len(notes):3d}  {neighbours_db(notes):5.2f}")


def line(found: Closeness) -> str:
    """One row's figures."""
    distances = " ".join(f"{found.distance_db[name]:5.2f}" for name in ("whole", "attack", "early", "late"))
    decays = f"{found.decay_error_db_per_s:5.1f} x{found.decay_factor:.2f} x{found.late_factor:.2f}"
    return f"{distances}   {decays}   x{found.band_factor:.2f}"


def stretches(guitar: str, notes: list[RealNote], say: Callable[[str], None]) -> None:
    """Inharmonicity of recorded notes and of the voice, median factor apart."""
    pairs = [
        (partials(note.sound, note.pitch_midi).inharmonicity, strings.stiffness_at(VOICES[guitar], note.pitch_midi))
        for note in notes
    ]
    apart = [abs(np.log(ours / real)) for real, ours in pairs if real > 0.0]
    say(f"{guitar:<9}inharmonicity within a factor of {np.exp(np.median(apart)):.2f} (median)")


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("folder", type=Path, nargs="?", default=DATA, help="the folder guitar_samples")
    folder = arguments.parse_args().folder
    print(f"{'':<27}notes  whole attk  early late    partials dB/s, then   bands")
    for guitar in GUITARS:
        notes = recorded(folder, guitar)
        table(guitar, notes, print)
        stretches(guitar, notes, print)


if __name__ == "__main__":
    main()

"""The string models against recorded guitar notes (open data set tonejs-instruments, CC-BY 3.0, data/guitar_samples).

The voices were fitted to every second note (tools/fit_strings.py); the notes between judge. Figures: docs/sound.md.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from real_closeness import VOICES, closeness, ideal, reference
from real_decays import OCTAVES_HZ, band_falls_db_per_s, falls_db_per_s, partials
from real_notes import distances_db, picture, recorded
from sound_measures import RATE

from phrasewright.sound import strings

BOUNDS = {  # distance over 1.4 s and in the attack, dB; partials' decay, dB/s and as a factor; bands' decay as a factor
    "electric": (5.1, 7.8, 11.5, 1.40, 1.45),
    "acoustic": (4.6, 5.5, 9.0, 1.30, 1.30),
    "nylon": (5.6, 7.8, 11.0, 1.40, 1.35),
}


@pytest.fixture(scope="module")
def unseen(data_dir):
    """The recorded notes that no fit has seen, measured once; by guitar."""
    folder = data_dir / "guitar_samples"
    return {guitar: [reference(note) for note in recorded(folder, guitar)[1::2]] for guitar in VOICES}


@pytest.mark.parametrize("guitar", VOICES)
def test_voices_are_close_to_notes_they_were_not_fitted_to(unseen, guitar):
    """Log-spectral distance and decay error are within the figures of docs/sound.md and a margin of about 5 %."""
    whole_db, attack_db, decay_db_per_s, decay_factor, band_factor = BOUNDS[guitar]
    ours = closeness(VOICES[guitar], unseen[guitar])
    assert ours.distance_db["whole"] < whole_db
    assert ours.distance_db["attack"] < attack_db
    assert ours.decay_error_db_per_s < decay_db_per_s
    assert ours.decay_factor < decay_factor
    assert ours.band_factor < band_factor


@pytest.mark.parametrize("guitar", VOICES)
def test_an_ideal_string_is_much_farther_away(unseen, guitar):
    """What the fitted numbers add is worth a third of an ideal string's distance and a seventh of its decay error."""
    few = unseen[guitar][::3]
    ours, simple = closeness(VOICES[guitar], few), closeness(ideal(VOICES[guitar]), few)
    assert ours.distance_db["whole"] < 0.67 * simple.distance_db["whole"]
    assert ours.decay_factor < 0.85 * simple.decay_factor


@pytest.mark.parametrize("guitar", VOICES)
def test_each_guitar_is_nearest_to_its_own_voice(unseen, guitar):
    """No other fitted voice comes as near to a guitar's notes as its own."""
    few = unseen[guitar][::3]
    found = {name: closeness(tone, few).distance_db["whole"] for name, tone in VOICES.items()}
    assert min(found, key=found.__getitem__) == guitar


@pytest.mark.parametrize(("guitar", "factor"), [("acoustic", 1.15), ("nylon", 1.25), ("electric", 1.6)])
def test_partials_are_as_stretched_as_those_of_the_recordings(unseen, guitar, factor):
    """Inharmonicity B of string and fret agrees with that of the recorded notes, median."""
    tone = VOICES[guitar]
    pairs = [(real.partials.inharmonicity, strings.stiffness_at(tone, real.note.pitch_midi)) for real in unseen[guitar]]
    apart = [abs(np.log(ours / real)) for real, ours in pairs if real > 0.0]
    assert len(apart) > 0.8 * len(pairs)
    assert np.exp(np.median(apart)) < factor


@given(
    pitch=st.floats(45.0, 76.0),
    fall=st.floats(8.0, 40.0),
    stretch=st.floats(0.0, 2e-4),
)
@settings(max_examples=15, deadline=None)
def test_the_measure_finds_the_decay_and_the_stretch_put_in(pitch, fall, stretch):
    """Partials that all lose so many dB/s, stretched by B: both are found again, within 3 % and 1e-5."""
    time_s = np.arange(3 * RATE) / RATE
    number = np.arange(1, 9)
    f0_hz = 440.0 * 2.0 ** ((pitch - 69.0) / 12.0)
    frequency_hz = number * f0_hz * np.sqrt((1.0 + stretch * number**2) / (1.0 + stretch))
    sound = (np.sin(2 * np.pi * np.outer(frequency_hz, time_s)) / number[:, None]).sum(axis=0) * 10 ** (
        -fall * time_s / 20
    )
    found = partials(sound, pitch)
    slope, _ = falls_db_per_s(found)
    assert slope[:8] == pytest.approx(np.full(8, fall), rel=0.03)
    assert found.inharmonicity == pytest.approx(stretch, abs=1e-5)
    band = int(np.argmin(np.abs(np.log(np.array(OCTAVES_HZ) / f0_hz))))
    assert band_falls_db_per_s(sound)[band] == pytest.approx(fall, rel=0.2)


def test_a_note_is_no_distance_from_itself_however_loud():
    """Level is aligned: a note 12 dB softer is the same note."""
    note = strings.pluck(strings.NYLON, 57, 1.5, 0.8, sample_rate=RATE)
    assert max(distances_db(picture(note), picture(0.25 * note)).values()) < 1e-3

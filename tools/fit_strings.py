"""Fit a plucked-string voice to recorded notes of its guitar, and print the voice's numbers.

    python tools/fit_strings.py nylon path/to/guitar_samples

What is made small, by damped least squares on finite differences: the difference between log-mel pictures of the
rendered and the recorded notes (whole and attack), and the error of each partial's decay early and late in the note
(its log ratio, large errors counting less). A light pull keeps every number near where the voice has it now,
another keeps the response smooth, so that a handful of notes is not learned by heart. Only every second note is
used: the others judge (tests/sound/test_real_strings.py, benchmarks/bench_strings.py). Stiffness is not fitted but
measured: --stiffness prints B of each open string. One to three minutes of one core; set the linear algebra library
to one thread.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "sound"))

from real_decays import WINDOWS_S, falls_db_per_s, partials
from real_notes import GUITARS, differences_db, picture, recorded
from sound_measures import RATE

from phrasewright.sound import strings

VELOCITY = 0.8
RESPONSE_HZ = (80.0, 120.0, 170.0, 240.0, 340.0, 480.0, 700.0, 1000.0, 1500.0, 2200.0, 3200.0, 4700.0, 7500.0)
BRIDGE_HZ = (100.0, 150.0, 210.0, 300.0, 450.0, 800.0, 1600.0)
SCALE_DB, SCALE_STRING = 3.0, 0.2  # how far response and knock, and the strings' own losses (factors) move easily
SCALE_BRIDGE, FIRST_BRIDGE = 3.0, 2.0  # the bridge's losses, dB/s; where they start that are not known yet
STEP, MOST_STEPS = 0.08, 10
PULL, SMOOTH = 0.05, 0.17
ATTACK_WEIGHT, DECAY_WEIGHT_DB, DECAY_SPREAD = 0.6, 2.4, 0.3
VOICES = {"electric": strings.ELECTRIC, "acoustic": strings.ACOUSTIC, "nylon": strings.NYLON}


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """A number of the voice: whether it moves by factors, how far easily, between which bounds."""

    name: str
    by_factor: bool = False
    scale: float
    low: float
    high: float


KNOBS = (
    Knob(name="pluck", by_factor=True, scale=0.15, low=0.05, high=0.49),
    Knob(name="pickup", by_factor=True, scale=0.15, low=0.08, high=0.49),
    Knob(name="tilt", scale=0.2, low=0.0, high=2.5),
    Knob(name="width", by_factor=True, scale=0.4, low=1e-4, high=0.1),
    Knob(name="width_pitch_power", scale=0.4, low=-0.5, high=2.5),
    Knob(name="end_loss_db_per_s", by_factor=True, scale=0.2, low=2.0, high=40.0),
    Knob(name="end_pitch_power", scale=0.3, low=-0.5, high=1.5),
    Knob(name="air_loss_db_per_s", by_factor=True, scale=0.3, low=0.5, high=200.0),
    Knob(name="air_power", scale=0.3, low=0.5, high=3.0),
    Knob(name="air_pitch_power", scale=0.3, low=-0.5, high=2.5),
    Knob(name="slow_share_db", scale=4.0, low=-45.0, high=-6.0),
    Knob(name="slow_end_share", by_factor=True, scale=0.3, low=0.1, high=1.0),
    Knob(name="slow_loss_per_khz", by_factor=True, scale=0.3, low=0.05, high=20.0),
    Knob(name="slow_pitch_power", scale=0.3, low=-0.5, high=2.0),
    Knob(name="comb_fill", by_factor=True, scale=0.4, low=0.05, high=0.25),
    Knob(name="noise_db", scale=4.0, low=-60.0, high=-5.0),
    Knob(name="noise_s", by_factor=True, scale=0.3, low=0.001, high=0.03),
    Knob(name="stroke_db_per_octave", scale=3.0, low=-3.0, high=18.0),
)


class Panel:
    """The voice as a vector: knobs, response, knock, losses of strings and bridge, in units of their easy moves."""

    def __init__(self, tone: strings.StringTone) -> None:
        self.tone = tone
        self.knobs = tuple(knob for knob in KNOBS if getattr(tone, knob.name) is not None)
        counts = (len(self.knobs), len(RESPONSE_HZ), len(tone.knock), len(tone.open_midi), len(BRIDGE_HZ))
        self._ends = np.cumsum(counts)[:-1]
        losses = [SCALE_STRING] * len(tone.open_midi) + [SCALE_BRIDGE] * len(BRIDGE_HZ)
        levels = [SCALE_DB] * (len(RESPONSE_HZ) + len(tone.knock))
        self._scale = np.array([knob.scale for knob in self.knobs] + levels + losses)
        self._start = self._numbers()

    def _numbers(self) -> np.ndarray:
        tone = self.tone
        values = [getattr(tone, knob.name) for knob in self.knobs]
        knobs = [np.log(v) if knob.by_factor else v for knob, v in zip(self.knobs, values, strict=True)]
        losses = np.log(tone.string_loss or np.ones(len(tone.open_midi)))
        bridge = _on(tone.bridge_loss, BRIDGE_HZ) if tone.bridge_loss else np.full(len(BRIDGE_HZ), FIRST_BRIDGE)
        knock = [level for _, level, _ in tone.knock]
        return np.concatenate((knobs, _on(tone.response, RESPONSE_HZ), knock, losses, bridge))

    def __len__(self) -> int:
        return len(self._start)

    def voice(self, moved: np.ndarray) -> strings.StringTone:
        """The voice with its numbers moved so far."""
        knobs, response, knock, losses, bridge = np.split(self._start + moved * self._scale, self._ends)
        plain = {
            knob.name: float(np.clip(np.exp(v) if knob.by_factor else v, knob.low, knob.high))
            for knob, v in zip(self.knobs, knobs, strict=True)
        }
        return replace(
            self.tone,
            **plain,
            response=tuple(zip(RESPONSE_HZ, response.tolist(), strict=True)),
            knock=tuple((hz, float(db), s) for (hz, _, s), db in zip(self.tone.knock, knock, strict=True)),
            string_loss=tuple(np.exp(losses).tolist()),
            bridge_loss=tuple(zip(BRIDGE_HZ, np.maximum(bridge, 0.0).tolist(), strict=True)),
        )

    def roughness(self, moved: np.ndarray) -> np.ndarray:
        """Second differences of the response, dB."""
        return np.diff(np.split(self._start + moved * self._scale, self._ends)[1], 2)


def _on(curve, places_hz) -> np.ndarray:
    if not curve:
        return np.zeros(len(places_hz))
    at_hz, value = np.array(curve).T
    return np.interp(np.log(places_hz), np.log(at_hz), value)


class Target:
    """A recorded note as the fit sees it."""

    def __init__(self, note) -> None:
        self.pitch_midi = note.pitch_midi
        self.picture = picture(note.sound)
        heard = partials(note.sound, note.pitch_midi)
        self.decays = [falls_db_per_s(heard, between_s) for between_s in WINDOWS_S]

    def residual(self, tone: strings.StringTone) -> np.ndarray:
        """Differences of both pictures in dB, and of the decays, softened; a group's squares sum to its mean square."""
        sound = strings.pluck(tone, self.pitch_midi, 1.45, VELOCITY, sample_rate=RATE)
        apart = differences_db(self.picture, picture(sound))
        groups = [apart.whole.ravel(), ATTACK_WEIGHT * apart.attack.ravel()]
        groups += [self._decays(tone, *decay) for decay in self.decays]
        return np.concatenate([group / max(len(group), 1) ** 0.5 for group in groups])

    def _decays(self, tone: strings.StringTone, falls: np.ndarray, used: np.ndarray) -> np.ndarray:
        modes = strings.string_modes(tone, self.pitch_midi, VELOCITY)
        half = len(modes.frequency_hz) // 2
        number = np.round(modes.frequency_hz[:half] / modes.frequency_hz[0]).astype(int)
        errors = np.zeros(len(falls))
        for i, row in zip(number - 1, range(half), strict=True):
            if i < len(falls) and np.isfinite(falls[i]) and falls[i] > 1.0:
                time_s = np.linspace(*used[i], 24)
                pair = modes.amplitude[[row, row + half], None] * np.exp(
                    -modes.decay_per_s[[row, row + half], None] * time_s
                )
                level = 20.0 * np.log10(np.abs(pair).sum(axis=0) + 1e-12)
                errors[i] = np.log(max(-np.polyfit(time_s, level, 1)[0], 0.5) / falls[i])
        share = errors / DECAY_SPREAD
        return DECAY_WEIGHT_DB * np.sign(share) * np.sqrt(2.0 * (np.sqrt(1.0 + share**2) - 1.0))


def fit(tone: strings.StringTone, notes) -> strings.StringTone:
    """The voice nearest to the notes."""
    panel = Panel(tone)
    targets = [Target(note) for note in notes]

    def residual(moved):
        voice = panel.voice(moved)
        fits = np.concatenate([target.residual(voice) for target in targets])
        return np.concatenate((fits, SMOOTH * panel.roughness(moved), PULL * len(targets) ** 0.5 * moved))

    def slopes(moved):
        here = residual(moved)
        return np.array([(residual(moved + STEP * row) - here) / STEP for row in np.eye(len(panel))]).T

    found = least_squares(residual, np.zeros(len(panel)), jac=slopes, ftol=1e-3, max_nfev=MOST_STEPS, verbose=2)
    return panel.voice(found.x)


def stiffness(notes, open_midi) -> list[float]:
    """Median B of each open string, of the notes that lie lowest on it."""
    found: dict[int, list[float]] = {string: [] for string in range(len(open_midi))}
    for note in notes:
        string = max(sum(note.pitch_midi >= midi - 0.5 for midi in open_midi) - 1, 0)
        fret = max(note.pitch_midi - open_midi[string], 0.0)
        found[string].append(partials(note.sound, note.pitch_midi).inharmonicity * 2.0 ** (-fret / 6.0))
    return [float(np.median(values)) if values else np.nan for values in found.values()]


def main() -> None:
    """Print the fitted numbers of one guitar."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("guitar", choices=GUITARS)
    arguments.add_argument("folder", type=Path, help="the folder guitar_samples")
    arguments.add_argument("--stiffness", action="store_true", help="print B of each open string and stop")
    options = arguments.parse_args()
    notes, tone = recorded(options.folder, options.guitar), VOICES[options.guitar]
    if options.stiffness:
        print(" ".join(f"{value:.2g}" for value in stiffness(notes, tone.open_midi)))
        return
    print(fit(tone, notes[::2]))


if __name__ == "__main__":
    main()

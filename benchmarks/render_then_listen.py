"""Render, then listen: composed studies played by our own lead, alone and over our band, and heard again.

usage: python benchmarks/render_then_listen.py [--studies 200] [--band-db -12] [--first 0] [--every-tempo]

Lessons with other keys, scales, positions, grooves, charts and lead voices are composed, each study is rendered at the
lesson's tempos in turn (--every-tempo: at all of them), and heard: alone, and over the band, whose track is known as a
lesson knows it and is taken out first. Truth is the score and its performance. A note is
right within 50 ms and 50 cents.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import soxr

from phrasewright.app.pieces import study_pieces
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import read_lesson
from phrasewright.listen.align.matching import NoteList, matched
from phrasewright.listen.backing import remove_track
from phrasewright.listen.hear.hear import hear
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.score.model import PartRole
from phrasewright.score.technique import Damping
from phrasewright.sound.track import render_track

CHARTS = ("| Em7 | A7 | Em7 | B7 |", "| Am7 | D7 | Gmaj7 | E7 |", "| C7 | F7 | C7 | G7 |", "| Dm7 | G7 | Cmaj7 | A7 |")
SCALES = (
    ("E", "minor-pentatonic"),
    ("A", "minor-pentatonic"),
    ("C", "major-pentatonic"),
    ("D", "dorian"),
    ("G", "major"),
)
STYLES = ("open", "box")
GROOVES = ("shuffle", "straight-eighths", "swing", "bossa", "sixteenth-funk", "country-train")
VOICES = ("guitar", "acoustic guitar", "nylon guitar", "driven guitar")
TEMPOS = (60, 90, 120)


@dataclass(frozen=True, slots=True, eq=False)
class Rendered:
    """One study at one tempo. truth: (notes, 3): onset s, offset s, MIDI pitch; lead, band: float32 at ``RATE_HZ``."""

    name: str
    truth: np.ndarray
    lead: np.ndarray
    band: np.ndarray

    def mixed(self, band_db: float) -> np.ndarray:
        """The lead with the band so many dB against it, both by their power where they sound."""
        gain = 10 ** (band_db / 20) * _level(self.lead) / _level(self.band)
        return (self.lead + np.float32(gain) * self.band).astype(np.float32)


def lesson_text(number: int) -> str:
    """A lesson of our own, other for every number."""
    rng = np.random.default_rng(number)
    root, kind = SCALES[rng.integers(len(SCALES))]
    style = STYLES[rng.integers(2)] if "pentatonic" in kind else "box"
    return f"""
[lesson]
title = "Render {number}"
seed = {number}

[scale]
root = "{root}"
kind = "{kind}"

[position]
style = "{style}"

[band]
groove = "{GROOVES[rng.integers(len(GROOVES))]}"
tempos = [{", ".join(map(str, TEMPOS))}]
chart = "{CHARTS[rng.integers(len(CHARTS))]}"

[lead]
voice = "{VOICES[rng.integers(len(VOICES))]}"

[study]
bars = 8
studies = 2
"""


def studies(first: int, how_many: int, *, every_tempo: bool) -> Iterator[Rendered]:
    """So many studies, each at one tempo or at all."""
    made, number = 0, first
    while made < how_many:
        lesson = read_lesson(lesson_text(number), f"lesson-{number}")
        for piece in study_pieces(plan(lesson))[: how_many - made]:
            for tempo in lesson.tempos_bpm if every_tempo else (lesson.tempos_bpm[made % len(TEMPOS)],):
                yield rendered(f"{number} {piece.id} at {tempo:g}", piece, lesson, tempo)
            made += 1
        number += 1


def rendered(name: str, piece, lesson, tempo: float) -> Rendered:
    """A study by our own lead and band."""
    performance = lesson.performance(tempo).over(piece.score.measures)
    track = render_track(piece.score, performance, count_in_bars=1, seed=lesson.seed)
    lead = soxr.resample(track.dry[PartRole.LEAD], track.sample_rate, RATE_HZ)
    parts = [stem if stem.ndim == 1 else stem.mean(axis=1) for role, stem in track.dry.items() if role != PartRole.LEAD]
    band = soxr.resample(np.sum(parts, axis=0), track.sample_rate, RATE_HZ)
    truth = [
        (track.lead_in_s + performance.seconds_at(note.onset), track.lead_in_s + performance.seconds_at(note.end), note)
        for note in piece.lead.notes
        if note.touch.damping is not Damping.DEAD
    ]
    return Rendered(name, np.array([(on, off, float(note.pitch.midi)) for on, off, note in truth]), lead, band)


def right(truth: np.ndarray, audio: np.ndarray) -> np.ndarray:
    """(right, true, heard) notes."""
    notes = [note for note in hear(audio).notes if not note.is_dead]
    heard = np.array([(note.onset_s, note.offset_s, note.pitch_midi) for note in notes]).reshape(-1, 3)
    pairs = matched(note_list(truth), note_list(heard))
    return np.array([len(pairs), len(truth), len(heard)])


def note_list(rows: np.ndarray) -> NoteList:
    return NoteList(onset_s=rows[:, 0], offset_s=rows[:, 1], pitch_midi=rows[:, 2])


def f_measure(counts: np.ndarray) -> float:
    return float(2 * counts[0] / max(counts[1] + counts[2], 1))


def _level(x: np.ndarray) -> float:
    power = np.mean(x[: len(x) // 800 * 800].reshape(-1, 800) ** 2, axis=1)
    return float(np.sqrt(np.mean(power[power >= power.max() * 1e-3])) + 1e-9)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--studies", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--band-db", type=float, default=-12.0)
    parser.add_argument("--every-tempo", action="store_true")
    wish = parser.parse_args()
    alone, over_band, known = np.zeros(3), np.zeros(3), np.zeros(3)
    worst: list[tuple[float, str]] = []
    for one in studies(wish.first, wish.studies, every_tempo=wish.every_tempo):
        here = right(one.truth, one.lead)
        mixed = one.mixed(wish.band_db)
        without = right(one.truth, remove_track(mixed, one.band, RATE_HZ).audio)
        alone, over_band, known = alone + here, over_band + right(one.truth, mixed), known + without
        worst += [(f_measure(here), f"{one.name}, alone"), (f_measure(without), f"{one.name}, with the band")]
    print(f"{wish.studies} studies, {int(alone[1])} notes: alone F {f_measure(alone):.4f}", end="; ")
    print(f"band at {wish.band_db:g} dB F {f_measure(known):.4f}, its track not known {f_measure(over_band):.4f}")
    for f, name in sorted(worst)[:8]:
        print(f"  {f:.3f} {name}")


if __name__ == "__main__":
    main()

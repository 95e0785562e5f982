"""What training takes play: lines of notes with techniques, some as scales go, some as people played them.

A line is a list of ``Played``, by onset, in seconds, with pitches in semitones. Rhythms, scales and odds are common
practice or invented here; note lists are slices of annotated solos at other keys and speeds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

SCALES = (
    (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 3, 5, 7, 10), (0, 2, 4, 7, 9), (0, 3, 5, 6, 7, 10),
    (0, 2, 3, 5, 7, 9, 10), (0, 2, 3, 5, 7, 8, 11), tuple(range(12)),
)  # fmt: skip
FIGURES = (  # in beats, below 0 a rest
    (1.0,), (0.5, 0.5), (1 / 3, 1 / 3, 1 / 3), (1.5, 0.5), (2.0,), (-0.5, 0.5), (-1.0,), (0.5, -0.5), (0.25,) * 4,
    (0.5, 0.25, 0.25), (0.75, 0.25), (2 / 3, 1 / 3), (0.25, 0.5, 0.25), (3.0,), (-2.0,), (1 / 6,) * 6,
)  # fmt: skip
FASTEST_S = 0.055
PLAIN, HAMMERED, SLID = "plain", "hammered", "slid"


@dataclass(slots=True)
class Played:
    """One note. bend: (cents, begins after s, takes s), vibrato: (Hz, cents, upward only); start: how it begins."""

    onset_s: float
    duration_s: float
    midi: float
    gain_db: float = 0.0
    start: str = PLAIN
    bends: tuple[tuple[float, float, float], ...] = ()
    vibrato: tuple[float, float, bool] | None = None
    rings: bool = False


def line(
    rng: np.random.Generator, length_s: float, low: float, high: float, lists: Sequence[np.ndarray]
) -> list[Played]:
    """A line of about ``length_s`` within a range of pitches."""
    kind = rng.choice(["scale", "list", "repeated", "ringing", "random"], p=[0.42, 0.28, 0.08, 0.14, 0.08])
    if kind == "list":
        notes = _from_list(rng, length_s, low, high, lists)
    elif kind == "random":
        notes = _at_random(rng, length_s, low, high)
    else:
        notes = _along_scale(rng, length_s, low, high, repeated=kind == "repeated", rings=kind == "ringing")
    louder = rng.uniform(0.5, 6.0)
    for note in notes:
        note.gain_db = float(rng.normal(0.0, louder)) - (rng.uniform(6, 16) if rng.random() < 0.02 else 0.0)
    if kind != "ringing" and rng.random() < 0.6:
        _with_techniques(rng, notes)
    return notes


def _along_scale(rng, length_s, low, high, *, repeated: bool, rings: bool) -> list[Played]:
    beat_s = 60.0 / rng.uniform(55, 175)
    scale, root = SCALES[rng.integers(len(SCALES))], int(rng.integers(12))
    pitches = [m for m in range(int(np.ceil(low)), int(high) + 1) if (m - root) % 12 in scale]
    centre = rng.uniform(low + 4, max(low + 5, high - 6))
    at = int(np.argmin(np.abs(np.array(pitches) - centre)))
    legato = rng.uniform(0.6, 1.0)
    jitter_s = rng.uniform(0.0, 0.02)
    swing = rng.uniform(0.5, 0.7) if rng.random() < 0.3 else 0.5
    notes: list[Played] = []
    beat = rng.uniform(0.2, 1.0)
    while beat * beat_s < length_s:
        for part in FIGURES[rng.integers(len(FIGURES))]:
            if abs(part) * beat_s < FASTEST_S:
                beat += abs(part)
                continue
            if part > 0:
                if not (repeated and rng.random() < 0.7) and rng.random() > 0.08:
                    step = int(
                        rng.choice([-4, -3, -2, -1, 1, 2, 3, 4], p=[0.04, 0.05, 0.13, 0.28, 0.28, 0.13, 0.05, 0.04])
                    )
                    if abs(pitches[min(max(at + step, 0), len(pitches) - 1)] - centre) > 12:
                        step = -step
                    at = min(max(at + step, 0), len(pitches) - 1)
                swung = beat if abs(beat % 1 - 0.5) > 0.01 else np.floor(beat) + swing
                onset_s = max(swung * beat_s + rng.normal(0, jitter_s), 0.02)
                share = rng.uniform(0.25, 0.6) if rng.random() < 0.1 else legato * rng.uniform(0.9, 1.0)
                duration_s = max(abs(part) * beat_s * share, 0.05)
                if rings:
                    duration_s *= rng.uniform(1.0, 4.0)
                elif rng.random() < 0.12:
                    duration_s += rng.uniform(0.02, 0.3)
                notes.append(Played(onset_s, duration_s, float(pitches[at]), rings=rings or rng.random() < 0.05))
                while rings and rng.random() < 0.15:
                    other = pitches[at] + int(rng.choice([-16, -12, -9, -7, -5, -4, -3, 3, 4, 5, 7, 8, 12]))
                    if low <= other <= high:
                        notes.append(Played(onset_s + rng.uniform(0, 0.03), duration_s, float(other), rings=True))
            beat += abs(part)
    return _in_order(notes)


def _from_list(rng, length_s, low, high, lists) -> list[Played]:
    rows = lists[rng.integers(len(lists))]
    speed = rng.uniform(0.8, 1.25)
    begin = rows[rng.integers(max(len(rows) - 8, 1)), 0] - 0.1
    inside = rows[(rows[:, 0] >= begin) & (rows[:, 0] < begin + (length_s - 0.3) * speed)]
    moved = int(rng.integers(-4, 5))
    while len(inside) and np.median(inside[:, 2]) + moved > high - 8:
        moved -= 12
    while len(inside) and np.median(inside[:, 2]) + moved < low + 4:
        moved += 12
    notes = []
    for onset_s, duration_s, midi in inside:
        pitch = midi + moved
        if low - 1 <= pitch <= high + 1:
            rings = rng.random() < 0.3
            notes.append(
                Played(
                    float((onset_s - begin) / speed),
                    float(max(duration_s / speed, 0.04)),
                    float(np.round(pitch)),
                    rings=rings,
                )
            )
    return _in_order(notes)


def _at_random(rng, length_s, low, high) -> list[Played]:
    notes, at_s = [], rng.uniform(0.05, 0.4)
    while at_s < length_s:
        gap_s = float(np.exp(rng.uniform(np.log(0.07), np.log(1.2))))
        duration_s = gap_s * rng.uniform(0.3, 1.6)
        notes.append(Played(at_s, max(duration_s, 0.05), float(rng.integers(int(np.ceil(low)), int(high) + 1))))
        at_s += gap_s
    return _in_order(notes)


def _in_order(notes: list[Played]) -> list[Played]:
    return sorted(notes, key=lambda note: note.onset_s)


def _with_techniques(rng, notes: list[Played]) -> None:
    much = rng.uniform(0.1, 1.0)
    for index, note in enumerate(notes):
        before = notes[index - 1] if index else None
        follows_s = notes[index + 1].onset_s - note.onset_s if index + 1 < len(notes) else note.duration_s
        move = note.midi - before.midi if before else 0.0
        joined = before is not None and abs(before.onset_s + before.duration_s - note.onset_s) < 0.12
        chance = rng.random() / much
        if joined and 0 < abs(move) <= 5 and chance < 0.25 and before.onset_s + 0.07 < note.onset_s:
            note.start = HAMMERED
        elif (
            joined
            and 0 < abs(move) <= 7
            and chance < 0.38
            and note.duration_s > 0.12
            and before.onset_s + 0.1 < note.onset_s
        ):
            note.start = SLID
        elif note.duration_s > 0.25 and chance < 0.58:
            note.bends = _bends(rng, min(note.duration_s, follows_s + 0.2))
        elif note.duration_s > 0.4 and chance < 0.9:
            note.vibrato = (float(rng.uniform(3.5, 7.5)), float(rng.uniform(8, 70)), bool(rng.random() < 0.5))
        if note.start != PLAIN:
            before.duration_s = note.onset_s - before.onset_s


def _bends(rng, duration_s: float) -> tuple[tuple[float, float, float], ...]:
    cents = float(rng.choice([50, 100, 150, 200, 200, 200, 300]))
    takes_s = min(float(rng.uniform(0.05, 0.3)), 0.6 * duration_s)
    if rng.random() < 0.12:  # bent before it is struck, then let down
        return ((cents, -1.0, 0.01), (-cents, float(rng.uniform(0.1, 0.5)) * duration_s, takes_s))
    first = (cents, float(rng.uniform(0.0, 0.15)), takes_s)
    if duration_s > 0.7 and rng.random() < 0.35:
        return (first, (-cents, 0.55 * duration_s, min(0.25, 0.3 * duration_s)))
    return (first,)

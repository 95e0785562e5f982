"""A training take: a line of notes turned into sound, and what the network should say about it.

Answers are four planes over frames and rows, 0..255: a ramp around every onset, whether a note sounds, a ramp around
every end, a ramp around onsets that are not struck (hammered, pulled, slid); and one row for dead strokes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from tools.listener.bank import BANK_HZ, Guitar
from tools.listener.lines import HAMMERED, PLAIN, SLID, Played, line
from tools.listener.shape import FRAME_S, LOWEST_ROW_MIDI, RATE_HZ, ROWS, TRIANGLE_FRAMES
from tools.listener.spoil import Spoiler, hand_noises

LENGTH_S = 8.0
FRAMES = int(LENGTH_S / FRAME_S)
ONSET, SOUNDS, END, SOFT = range(4)
QUIET_DB = -38.0  # a note is over where it has fallen so far below its own loudest
NO_GUITAR = 0.04  # share of takes without a note


@dataclass(slots=True)
class Workshop:
    """Everything that takes are made of."""

    guitars: list[list[Guitar]]  # groups that are drawn equally often
    weights: list[float]
    lists: list[np.ndarray]
    dead: list[np.ndarray]
    spoiler: Spoiler

    def take(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray, str]:
        """(audio float32 (n,), planes uint8 (4, FRAMES, ROWS), dead strokes uint8 (FRAMES,), the guitar's name)."""
        audio = np.zeros(int(LENGTH_S * RATE_HZ), dtype=np.float32)
        planes = np.zeros((4, FRAMES, ROWS), dtype=np.float32)
        dead = np.zeros(FRAMES, dtype=np.float32)
        name = ""
        if rng.random() > NO_GUITAR:
            group = self.guitars[rng.choice(len(self.guitars), p=self.weights)]
            guitar = group[rng.integers(len(group))]
            name = guitar.name
            low = max(guitar.lowest_midi - 1.5, LOWEST_ROW_MIDI + 0.6)
            high = min(guitar.highest_midi + 1.5, 88.0)
            notes = line(rng, LENGTH_S, low, high, self.lists)
            tuned = float(rng.normal(0, 8) if rng.random() < 0.5 else rng.uniform(-48, 48))
            sound(rng, guitar, notes, tuned, audio, planes)
            if rng.random() < 0.1:
                self._dead_strokes(rng, notes, audio, dead)
            if rng.random() < 0.35:
                self._ghosts(rng, guitar, notes, audio)
            if rng.random() < 0.45:
                hand_noises(rng, audio, [(note.onset_s, note.onset_s + note.duration_s) for note in notes], guitar)
        spoiled = self.spoiler.spoil(rng, audio, empty=not name)
        return spoiled, np.round(planes * 255).astype(np.uint8), np.round(dead * 255).astype(np.uint8), name

    def _ghosts(self, rng, guitar: Guitar, notes: list[Played], audio: np.ndarray) -> None:
        """Strings that speak faintly and briefly when a finger leaves or brushes them: nobody plays those."""
        loud = np.abs(audio).max() + 1e-6
        for note in notes:
            if rng.random() > 0.12:
                continue
            at_s = note.onset_s + note.duration_s + rng.uniform(-0.03, 0.15)
            source = guitar.notes[rng.integers(len(guitar.notes))]
            begin = source.attack + int(rng.uniform(0, 0.06) * RATE_HZ) * 2
            piece = source.audio[begin : begin + 2 * int(rng.uniform(0.03, 0.11) * RATE_HZ) : 2].copy()
            if len(piece) < 200 or not 0 < at_s < LENGTH_S - 0.2:
                continue
            piece *= (
                np.hanning(len(piece)) ** 0.5 * loud * 10 ** (rng.uniform(-34, -14) / 20) / (np.abs(piece).max() + 1e-9)
            )
            start = int(at_s * RATE_HZ)
            room = min(len(piece), len(audio) - start)
            audio[start : start + room] += piece[:room]

    def _dead_strokes(self, rng, notes: list[Played], audio: np.ndarray, dead: np.ndarray) -> None:
        loud = np.abs(audio).max() + 1e-6
        for _ in range(int(rng.integers(1, 8))):
            at_s = rng.uniform(0.1, LENGTH_S - 0.2)
            if any(abs(note.onset_s - at_s) < 0.06 for note in notes):
                continue
            stroke = self.dead[rng.integers(len(self.dead))]
            stroke = stroke * (loud * rng.uniform(0.15, 0.7) / (np.abs(stroke).max() + 1e-9))
            begin = int(at_s * RATE_HZ)
            room = min(len(stroke), len(audio) - begin)
            audio[begin : begin + room] += stroke[:room]
            np.maximum(dead, _ramp(at_s), out=dead)


def sound(rng, guitar: Guitar, notes: list[Played], tuned_cents: float, audio: np.ndarray, planes: np.ndarray) -> None:
    """Add a line to a take, and to its answers."""
    damped_s = float(np.exp(rng.uniform(np.log(0.008), np.log(0.06))))
    for index, note in enumerate(notes):
        if note.onset_s > LENGTH_S - 0.05:
            continue
        cut_s = _cut(notes, index)
        before = notes[index - 1].midi if index else note.midi
        cents = _cents(rng, note, before)
        heard = _voice(rng, guitar, note, cents, tuned_cents, min(cut_s, LENGTH_S) - note.onset_s, damped_s)
        begin = round(note.onset_s * RATE_HZ) - heard[1]
        piece = heard[0] * np.float32(10 ** (note.gain_db / 20))
        skip = max(0, -begin)
        room = min(len(piece), len(audio) - begin)
        if room <= skip:
            continue
        audio[begin + skip : begin + room] += piece[skip:room]
        end_s = min(
            note.onset_s + (99.0 if note.rings else note.duration_s), cut_s, note.onset_s + _audible_s(piece, heard[1])
        )
        _answer(planes, note, end_s, cents, tuned_cents)


def _cut(notes: list[Played], index: int) -> float:
    """When the string is taken by another note, in s."""
    note = notes[index]
    for later in notes[index + 1 :]:
        if later.onset_s <= note.onset_s:
            continue
        if abs(later.midi - note.midi) < 0.5 or (later is notes[index + 1] and later.start != PLAIN):
            return later.onset_s
        if later.onset_s > note.onset_s + 6:
            break
    return 99.0


def _cents(rng, note: Played, before: float) -> np.ndarray | None:
    """The note's pitch against ``midi`` every ms, None where it is steady."""
    count = int((min(note.duration_s, 6.0) + 0.6) * 1000) if not note.rings else 4000
    t = np.arange(count) / 1000.0
    cents = np.zeros(count)
    for amount, begins_s, takes_s in note.bends:
        cents += amount * (0.5 - 0.5 * np.cos(np.pi * np.clip((t - begins_s) / takes_s, 0, 1)))
    if note.vibrato:
        rate_hz, width, upward = note.vibrato
        wave = np.sin(2 * np.pi * rate_hz * (t - 0.12) - (np.pi / 2 if upward else 0.0))
        cents += width * (0.5 * (wave + 1) if upward else wave) * np.clip((t - 0.12) / 0.2, 0, 1)
    if note.start == SLID:
        takes_s = rng.uniform(0.03, 0.14 if rng.random() < 0.7 else 0.3)
        share = np.clip(t / takes_s, 0, 1)
        way = 100 * (before - note.midi) * (1 - share)
        cents += np.round(way / 100) * 100 if rng.random() < 0.5 else way
    return cents if np.any(cents) else None


def _voice(rng, guitar, note: Played, cents, tuned_cents, longest_s, damped_s) -> tuple[np.ndarray, int]:
    """The note's sound at ``RATE_HZ`` and the sample of its onset."""
    middle = 0.0 if cents is None else float(np.median(cents[: max(int(note.duration_s * 1000), 1)]))
    hz = 440.0 * 2 ** ((note.midi + (tuned_cents + middle + rng.normal(0, 3)) / 100 - 69) / 12)
    source = guitar.near(hz, rng)
    ratio = hz / source.hz
    lasts_s = min(note.duration_s + 8 * damped_s if not note.rings else 6.0, longest_s + 0.01)
    count = max(int(lasts_s * RATE_HZ), 400)
    soft = note.start != PLAIN
    ahead = int((0.003 if soft else 0.005) * RATE_HZ)
    begin = source.attack + (int(rng.uniform(0.025, 0.12) * BANK_HZ) if soft else 0) - 2 * ahead * ratio
    if cents is None:
        places = begin + 2 * ratio * np.arange(count + ahead)
    else:
        curve = np.interp(np.arange(count) / RATE_HZ, np.arange(len(cents)) / 1000, cents) - middle
        speed = 2 * ratio * 2 ** (curve / 1200)
        places = begin + np.concatenate([np.arange(ahead) * 2 * ratio, 2 * ahead * ratio + np.cumsum(speed) - speed[0]])
    places = places[places < len(source.audio) - 2]
    piece = np.interp(places, np.arange(len(source.audio)), source.audio, left=0.0).astype(np.float32)
    fade = ahead if soft else max(ahead // 2, 1)
    piece[:fade] *= np.linspace(0, 1, fade, dtype=np.float32)
    if soft:
        piece *= np.float32(10 ** (-rng.uniform(0, 6 if rng.random() < 0.8 else 12) / 20))
    else:
        dull = rng.uniform(0.0, 0.4)
        piece[1:] = piece[1:] * (1 - dull) + dull * piece[:-1]
    if not note.rings:
        off = ahead + int(note.duration_s * RATE_HZ)
        if off < len(piece):
            piece[off:] *= np.exp(-np.arange(len(piece) - off) / (damped_s * RATE_HZ)).astype(np.float32)
    cut = ahead + int(longest_s * RATE_HZ)
    if cut < len(piece) + 400:
        piece = piece[: max(cut, 1)]
    tail = min(int(0.006 * RATE_HZ), len(piece))
    piece[len(piece) - tail :] *= np.linspace(1, 0, tail, dtype=np.float32)
    return piece, ahead


def _audible_s(piece: np.ndarray, onset: int) -> float:
    """How long a sound stays within ``QUIET_DB`` of its loudest."""
    count = (len(piece) - onset) // 160
    if count < 1:
        return len(piece) / RATE_HZ
    power = np.mean(piece[onset : onset + count * 160].reshape(count, 160) ** 2, axis=1)
    loud = np.flatnonzero(power > power.max() * 10 ** (QUIET_DB / 10))
    return (loud[-1] + 1) * 0.01 if len(loud) else 0.0


def _ramp(at_s: float) -> np.ndarray:
    return np.maximum(0.0, 1.0 - np.abs(np.arange(FRAMES) - at_s / FRAME_S) / TRIANGLE_FRAMES).astype(np.float32)


def _answer(planes: np.ndarray, note: Played, end_s: float, cents, tuned_cents: float) -> None:
    first = note.midi + tuned_cents / 100
    if cents is not None and note.start != SLID:
        first += cents[0] / 100
    row = round(float(first)) - LOWEST_ROW_MIDI
    if not 0 <= row < ROWS or end_s - note.onset_s < 0.02:
        return
    ramp = _ramp(note.onset_s)
    np.maximum(planes[ONSET, :, row], ramp, out=planes[ONSET, :, row])
    if note.start != PLAIN:
        np.maximum(planes[SOFT, :, row], ramp, out=planes[SOFT, :, row])
    times_s = np.arange(FRAMES) * FRAME_S
    inside = np.flatnonzero((times_s >= note.onset_s - FRAME_S / 2) & (times_s < end_s - FRAME_S / 2))
    if not len(inside):
        return
    if cents is None or note.start == SLID:
        rows = np.full(len(inside), row)
    else:
        curve = np.interp(times_s[inside] - note.onset_s, np.arange(len(cents)) / 1000, cents)
        rows = np.clip(np.round(note.midi + (tuned_cents + curve) / 100).astype(int) - LOWEST_ROW_MIDI, 0, ROWS - 1)
    planes[SOUNDS, inside, rows] = 1.0
    last = rows[-1]
    np.maximum(planes[END, :, last], _ramp(end_s), out=planes[END, :, last])


__all__ = ["FRAMES", "HAMMERED", "LENGTH_S", "Workshop"]

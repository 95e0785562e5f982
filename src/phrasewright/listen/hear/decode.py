"""From what the network says to notes: where each begins, which way it goes through the semitones, where it ends.

A note begins where the onset plane has a peak, the semitone beside it counted in, since a guitar that is tuned between
two of them begins in both. From there it is followed from frame to frame, to the next semitone too when a bend takes it
there, until nothing sounds, or a new note begins in the same place. Onsets lie between frames: the ramps that the
network draws on both sides of a peak say where. Thresholds were set on made takes of other seeds than the checks use.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.hear.spectrum import FRAME_S, LOWEST_ROW_MIDI

if TYPE_CHECKING:
    from phrasewright.listen.hear.ear import Answers, FloatArray

BEGINS, SOUNDS = 0.5, 0.5
BESIDE = 0.8  # how much of the onset in the next semitone counts
APART_FRAMES = 3  # two onsets of one string lie further apart
GAP_FRAMES = 2  # that a note may be lost for
MOVES = 0.2  # by how much louder the next semitone must be to be moved to
SHORTEST_S = 0.03
DEAD = 0.5
PLACE = 0.5  # a frame ends half-way to the next


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodedNote:
    """A note on the grid of semitones. row: MIDI number it begins in; rows: all that it goes through; begins, sounds:
    0..1, how sure the network is of its onset and of its sounding on; soft: 0..1, how likely it is not struck.
    """

    onset_s: float
    offset_s: float
    row: int
    rows: frozenset[int]
    begins: float
    sounds: float
    soft: float


@dataclass(frozen=True, slots=True)
class _Start:
    """frame, row: of the onset plane; odds: of an onset there."""

    frame: int
    row: int
    odds: float


def decode(answers: Answers) -> tuple[DecodedNote, ...]:
    """The notes of a take, by onset. They may overlap."""
    onset = _with_beside(answers.onset)
    starts = _starts(onset)
    ways = _ways(answers.sounds, starts)
    found = (_note(answers, onset, start, way) for start, way in zip(starts, ways, strict=True))
    notes = [note for note in found if note is not None]
    return tuple(sorted(notes, key=lambda note: (note.onset_s, note.row)))


def dead_strokes(answers: Answers) -> tuple[tuple[float, float], ...]:
    """(when in s, how sure) of every stroke on a damped string."""
    ramp = answers.dead
    peaks = np.flatnonzero((ramp[1:-1] > DEAD) & (ramp[1:-1] >= ramp[:-2]) & (ramp[1:-1] > ramp[2:])) + 1
    return tuple((_between(ramp, int(peak)) * FRAME_S, float(ramp[peak])) for peak in peaks)


def _with_beside(onset: FloatArray) -> FloatArray:
    """The onset plane with the louder neighbour of every row counted in, where the row itself is the loudest."""
    silent = np.zeros((len(onset), 1), dtype=onset.dtype)
    beside = np.maximum(np.hstack([silent, onset[:, :-1]]), np.hstack([onset[:, 1:], silent]))
    return np.minimum(1.0, onset + BESIDE * beside * (onset >= beside))


def _starts(onset: FloatArray) -> tuple[_Start, ...]:
    """Peaks of the onset plane, the surest first when two are too near each other; by frame."""
    padded = np.pad(onset, ((1, 1), (0, 0)))
    peaks = (onset > BEGINS) & (onset >= padded[:-2]) & (onset > padded[2:])
    frames, rows = np.nonzero(peaks)
    odds = onset[frames, rows]
    taken = np.zeros(onset.shape, dtype=bool)
    found = []
    for index in np.argsort(-odds, kind="stable"):
        frame, row = int(frames[index]), int(rows[index])
        near = taken[max(frame - APART_FRAMES, 0) : frame + APART_FRAMES + 1, max(row - 1, 0) : row + 2]
        if not near.any():
            taken[frame, row] = True
            found.append(_Start(frame, row, float(odds[index])))
    return tuple(sorted(found, key=lambda start: (start.frame, start.row)))


def _ways(sounds: FloatArray, starts: tuple[_Start, ...]) -> list[list[int]]:
    """The row that each note is in, frame by frame from its start."""
    begun: dict[int, set[int]] = defaultdict(set)
    for start in starts:
        for frame in range(start.frame - 2, start.frame + 3):
            begun[start.row].add(frame)
    return [_way(sounds, start, begun) for start in starts]


def _way(sounds: FloatArray, start: _Start, begun: dict[int, set[int]]) -> list[int]:
    frames, rows = sounds.shape
    row, missed = start.row, 0
    way = [row]
    for frame in range(start.frame + 1, frames):
        low = max(row - 1, 0)
        around = sounds[frame, low : min(row + 2, rows)]
        best = low + int(around.argmax())
        if frame > start.frame + APART_FRAMES and frame in begun[best] and frame - 4 > start.frame:
            break
        if float(around.sum()) >= SOUNDS:
            missed = 0
            if sounds[frame, best] > sounds[frame, row] + MOVES:
                row = best
        else:
            missed += 1
        way.append(row)
        if missed > GAP_FRAMES:
            break
    return way[: len(way) - missed]


def _note(answers: Answers, onset: FloatArray, start: _Start, way: list[int]) -> DecodedNote | None:
    """The note of a way, None where it is too short to be one."""
    at = _between(onset[:, start.row], start.frame)
    onset_s, offset_s = max(at, 0.0) * FRAME_S, (start.frame + len(way) - 1 + PLACE) * FRAME_S
    if offset_s - onset_s < SHORTEST_S:
        return None
    frames = np.arange(start.frame, start.frame + len(way))
    near = slice(max(start.frame - 1, 0), start.frame + 2)
    return DecodedNote(
        onset_s=onset_s,
        offset_s=offset_s,
        row=LOWEST_ROW_MIDI + start.row,
        rows=frozenset(LOWEST_ROW_MIDI + row for row in way),
        begins=start.odds,
        sounds=float(answers.sounds[frames, way].mean()),
        soft=float(answers.soft[near, start.row].max()),
    )


def _between(ramp: FloatArray, peak: int) -> float:
    """Where between frames a ramp has its top, in frames."""
    before, top, after = (float(ramp[min(max(frame, 0), len(ramp) - 1)]) for frame in (peak - 1, peak, peak + 1))
    slope = top - min(before, after)
    return peak + min(max(0.5 * (after - before) / slope, -1.0), 1.0) if slope > 1e-6 else float(peak)

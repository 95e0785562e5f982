"""How hard a line is to play at a tempo, with its parts.

The parts are plain measures; ``level`` adds them at fixed rates so that exercises can be ordered and shown. The
rates are our design (each part about 0..2 in beginners' lines), not a measurement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from phrasewright.compose.exercise import Exercise
from phrasewright.melody.ease import Fretted, shift_mm, stretch_mm, string_changes
from phrasewright.score.model import PartRole, Score
from phrasewright.units import seconds_from_quarters

RATE_PER_NOTE_A_SECOND = 1.0
RATE_PER_STRING = 1.0
RATE_PER_SHIFT_MM = 0.02
RATE_PER_STRETCH_MM = 0.01
RATE_PER_SEMITONE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """notes_per_second: at the quickest place; string_changes and shift_mm: per note; stretch_mm: the widest."""

    notes_per_second: float
    string_changes: float
    shift_mm: float
    stretch_mm: float
    largest_interval_semitones: int

    @property
    def level(self) -> float:
        """One number, 0 = nothing to play."""
        return (
            RATE_PER_NOTE_A_SECOND * self.notes_per_second
            + RATE_PER_STRING * self.string_changes
            + RATE_PER_SHIFT_MM * self.shift_mm
            + RATE_PER_STRETCH_MM * self.stretch_mm
            + RATE_PER_SEMITONE * self.largest_interval_semitones
        )


def difficulty_of(score: Score, tempo_bpm: float) -> Difficulty:
    """The difficulty of a score's lead part; tempo in quarter notes per minute. Raises ValueError without a lead."""
    part = score.part(PartRole.LEAD)
    if not part.notes:
        return Difficulty(
            notes_per_second=0.0, string_changes=0.0, shift_mm=0.0, stretch_mm=0.0, largest_interval_semitones=0
        )
    line = [Fretted(note.place, note.finger) for note in part.notes if note.place is not None]
    quickest = min((b.onset - a.onset for a, b in pairwise(part.notes)), default=None)
    instrument = part.instrument
    return Difficulty(
        notes_per_second=0.0 if quickest is None else 1.0 / seconds_from_quarters(quickest, tempo_bpm),
        string_changes=string_changes(line) / len(part.notes),
        shift_mm=0.0 if instrument is None else shift_mm(line, instrument) / len(part.notes),
        stretch_mm=0.0 if instrument is None else stretch_mm(line, instrument),
        largest_interval_semitones=max((abs(b.pitch.midi - a.pitch.midi) for a, b in pairwise(part.notes)), default=0),
    )


def by_difficulty(exercises: Sequence[Exercise], tempo_bpm: float) -> tuple[Exercise, ...]:
    """The exercises from easiest to hardest; equals keep their order."""
    return tuple(sorted(exercises, key=lambda exercise: difficulty_of(exercise.score, tempo_bpm).level))

"""How hard a line is to play at a tempo, with its parts.

The parts are plain measures; ``level`` adds them at fixed rates so that exercises can be ordered and shown. It speaks
of the hand and the beat alone: what an exercise asks of memory and fancy it does not know. Moves are counted within a
breath, since a rest of a second gives the hand time to go anywhere. Rates and that second are our design (each part is
about 0..2 in beginners' lines), not a measurement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from phrasewright.compose.exercise import Exercise, ExerciseKind
from phrasewright.melody.ease import Fretted, shift_mm, stretch_mm, string_changes
from phrasewright.melody.phrase import Phrase
from phrasewright.neck.instrument import Instrument
from phrasewright.score.model import Note, PartRole, Score
from phrasewright.units import seconds_from_quarters

RATE_PER_NOTE_A_SECOND = 1.0
RATE_PER_STEADY_NOTE_A_SECOND = 1.0
RATE_PER_STRING = 1.0
RATE_PER_SHIFT_MM = 0.02
RATE_PER_STRETCH_MM = 0.01
RATE_PER_SEMITONE = 0.1
RATE_OFF_BEAT = 1.0
BREATH_S = 1.0
REFERENCE_BPM = 90.0  # quarter notes a minute: what difficulty is stated at, so that lessons can be compared


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """What makes a line hard.

    notes_per_second: at the quickest place; steady_notes_per_second: over the whole, rests counted; string_changes and
    shift_mm: per note; stretch_mm: the widest; off_beat: share of notes struck between the beats, 0..1.
    """

    notes_per_second: float = 0.0
    steady_notes_per_second: float = 0.0
    string_changes: float = 0.0
    shift_mm: float = 0.0
    stretch_mm: float = 0.0
    largest_interval_semitones: int = 0
    off_beat: float = 0.0

    @property
    def level(self) -> float:
        """One number, 0 = nothing to play; beginners' lines lie between 2 and 8."""
        return (
            RATE_PER_NOTE_A_SECOND * self.notes_per_second
            + RATE_PER_STEADY_NOTE_A_SECOND * self.steady_notes_per_second
            + RATE_PER_STRING * self.string_changes
            + RATE_PER_SHIFT_MM * self.shift_mm
            + RATE_PER_STRETCH_MM * self.stretch_mm
            + RATE_PER_SEMITONE * self.largest_interval_semitones
            + RATE_OFF_BEAT * self.off_beat
        )


def difficulty_of(score: Score, tempo_bpm: float = REFERENCE_BPM) -> Difficulty:
    """The difficulty of a score's lead part; tempo in quarter notes per minute. Raises ValueError without a lead."""
    part = score.part(PartRole.LEAD)
    off_beat = sum(_is_off_beat(note, score) for note in part.notes)
    return _measure(part.notes, score.end, off_beat, part.instrument, tempo_bpm)


def difficulty_of_phrase(phrase: Phrase, tempo_bpm: float = REFERENCE_BPM) -> Difficulty:
    """The difficulty of a phrase over its own bars, the rest left out; tempo in quarter notes per minute."""
    meter = phrase.count.meter
    notes = phrase.notes()
    off_beat = sum((note.onset % meter.bar) % meter.pulse != 0 for note in notes)
    return _measure(notes, phrase.count.bars * meter.bar, off_beat, phrase.motif.position.instrument, tempo_bpm)


def _measure(
    notes: Sequence[Note], end: Fraction, off_beat: int, instrument: Instrument | None, tempo_bpm: float
) -> Difficulty:
    if not notes:
        return Difficulty()
    breaths = list(_breaths(notes, tempo_bpm))
    lines = [[Fretted(note.place, note.finger) for note in breath if note.place is not None] for breath in breaths]
    quickest = min((b.onset - a.onset for a, b in pairwise(notes)), default=None)
    intervals = (abs(b.pitch.midi - a.pitch.midi) for breath in breaths for a, b in pairwise(breath))
    return Difficulty(
        notes_per_second=0.0 if quickest is None else 1.0 / seconds_from_quarters(quickest, tempo_bpm),
        steady_notes_per_second=len(notes) / seconds_from_quarters(end, tempo_bpm),
        string_changes=sum(map(string_changes, lines)) / len(notes),
        shift_mm=sum(shift_mm(line, instrument) for line in lines) / len(notes) if instrument else 0.0,
        stretch_mm=max(stretch_mm(line, instrument) for line in lines) if instrument else 0.0,
        largest_interval_semitones=max(intervals, default=0),
        off_beat=off_beat / len(notes),
    )


def by_difficulty(exercises: Sequence[Exercise]) -> tuple[Exercise, ...]:
    """The exercises from easiest to hardest, those of free choice last; equals keep their order."""

    def rank(exercise: Exercise) -> tuple[bool, float]:
        return exercise.kind is ExerciseKind.FREE_CHOICE, difficulty_of(exercise.score).level

    return tuple(sorted(exercises, key=rank))


def _breaths(notes: Iterable[Note], tempo_bpm: float) -> Iterable[list[Note]]:
    """Notes with less than ``BREATH_S`` of silence between them."""
    breath: list[Note] = []
    for note in notes:
        if breath and seconds_from_quarters(note.onset - breath[-1].end, tempo_bpm) >= BREATH_S:
            yield breath
            breath = []
        breath.append(note)
    yield breath


def _is_off_beat(note: Note, score: Score) -> bool:
    measure = score.measure_at(note.onset)
    return (note.onset - measure.onset) % measure.meter.pulse != 0

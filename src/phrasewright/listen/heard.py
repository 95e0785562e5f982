"""What was heard in a take: the narrow waist between audio and everything that is said about it.

Times are seconds from the start of the take. Pitches are fractional MIDI numbers against A4 = 440 Hz, so that a guitar
tuned low reads low; ``Hearing.tuning_cents`` says by how much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

CURVE_STEP_S = 0.01  # from one value of a pitch curve to the next


class HeardTechnique(StrEnum):
    """What a note may be heard to be played with, in the words of the trade."""

    BEND = "bend"
    VIBRATO = "vibrato"
    SLIDE = "slide"
    LEGATO = "hammer-on or pull-off"
    DEAD = "dead note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One technique heard in a note. confidence: 0..1.

    cents: how far a bend goes from the note's first pitch (positive up), how wide a vibrato swings to either side, or
    how far a slide travels to the note (positive up); rate_hz: of a vibrato.
    """

    technique: HeardTechnique
    cents: float = 0.0
    rate_hz: float = 0.0
    confidence: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardNote:
    """One note. pitch_midi: what it settles on after its attack; a dead note's is of no meaning.

    curve_cents: its pitch every ``CURVE_STEP_S`` from the onset, against ``pitch_midi``; nan where none was heard;
    level_db: of its loudest 50 ms, against full scale; confidence: 0..1, the odds that a player did play it.
    """

    onset_s: float
    offset_s: float
    pitch_midi: float
    curve_cents: tuple[float, ...] = ()
    marks: tuple[Mark, ...] = ()
    level_db: float = -20.0
    confidence: float = 1.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.onset_s) and self.offset_s > self.onset_s >= 0.0):
            raise ValueError(f"a note sounds from a time >= 0 s to a later one, got {self.onset_s}, {self.offset_s}")
        if not 0.0 <= self.confidence <= 1.0:
            raise ValueError(f"a confidence lies in 0..1, got {self.confidence}")

    @property
    def duration_s(self) -> float:
        """How long it sounds, in s."""
        return self.offset_s - self.onset_s

    def mark(self, technique: HeardTechnique) -> Mark | None:
        """Its mark of a technique, if it has one."""
        return next((mark for mark in self.marks if mark.technique is technique), None)

    @property
    def is_dead(self) -> bool:
        """True when it has no definite pitch."""
        return self.mark(HeardTechnique.DEAD) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """All that was heard. notes: by onset, they may overlap; remarks: what the player should know about the take.

    tuning_cents: how far the instrument is tuned from A4 = 440 Hz; None where too few notes tell; is_line: False where
    chords or much else sounds, so that how it was played is not to be judged.
    """

    notes: tuple[HeardNote, ...]
    length_s: float
    tuning_cents: float | None = None
    remarks: tuple[str, ...] = ()
    is_line: bool = True

    def __post_init__(self) -> None:
        onsets_s = [note.onset_s for note in self.notes]
        if onsets_s != sorted(onsets_s):
            raise ValueError("heard notes go by onset")

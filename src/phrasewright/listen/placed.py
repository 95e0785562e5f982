"""Where the notes of a take lie in the music: the bars, the clock, and what was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from phrasewright.listen.heard import HeardNote
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import Measure, Note
from phrasewright.score.performance import Performance
from phrasewright.theory.chord import Chord


class OffsetSource(StrEnum):
    """What told when the music begins in the take, most trusted first."""

    GIVEN = "given"
    TRACK = "track"  # the lesson's own track is audible in the take
    LINE = "written line"  # the notes of a written exercise or study
    GRID = "counts"  # the bare grid of counts: cannot tell latency from a player who always drags


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeClock:
    """When written time sounds in a take, by p = ``performance.seconds_at(t)``: ``offset_s + stretch * p`` and a bend.

    offset_s: where the score's zero lies, in s of the take; may be negative; stretch: of the take against the
    performance's tempo, 1.01 = one per cent slower; confidence: 0..1, of the offset; slowing_per_s: how much the
    stretch grows with every second of p, 0 = one tempo throughout; around_s: the p at which ``stretch`` holds.
    The performance swings as the player does.
    """

    performance: Performance
    offset_s: float
    stretch: float = 1.0
    source: OffsetSource = OffsetSource.GIVEN
    confidence: float = 1.0
    slowing_per_s: float = 0.0
    around_s: float = 0.0

    def __post_init__(self) -> None:
        if self.stretch <= 0.0:
            raise ValueError(f"a stretch must be > 0, got {self.stretch}")

    def seconds_at(self, time: Fraction) -> float:
        """The second of the take at which a written time, in quarter notes, sounds."""
        performed_s = self.performance.seconds_at(time)
        bend_s = self.slowing_per_s * performed_s * (performed_s / 2.0 - self.around_s)
        return self.offset_s + self.stretch * performed_s + bend_s

    @property
    def tempo_bpm(self) -> float:
        """The tempo played, in quarter notes a minute; in the middle of the take where it changes."""
        return self.performance.tempo_bpm / self.stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedNote:
    """A heard note in its place. at: the nearest count, quarter notes from the score start; bar: printed number.

    word: the count as spoken (``1``, ``&``, ``trip``); beat: 1-based in units of the meter, e.g. 2.5 for the ``&`` of
    2; deviation_s: positive = late against ``at``, offset and drift of the take taken out; chord: what holds there.
    """

    note: HeardNote
    at: Fraction
    bar: int
    beat: float
    word: str
    deviation_s: float
    chord: Chord | None = None
    place: StringFret | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """A take laid over its bars. notes: every heard note but dead ones outside the music, by onset."""

    measures: tuple[Measure, ...]
    clock: TakeClock
    notes: tuple[PlacedNote, ...]
    remarks: tuple[str, ...] = ()


class Verdict(StrEnum):
    """What became of a written note."""

    PLAYED = "played"
    EARLY = "early"
    LATE = "late"
    WRONG_PITCH = "wrong pitch"
    WRONG_OCTAVE = "wrong octave"
    MISSED = "missed"


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenOutcome:
    """A written note and what was played for it; heard is None exactly for a missed one."""

    written: Note
    verdict: Verdict
    heard: PlacedNote | None
    deviation_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A take against a written line. added: notes that nothing written accounts for."""

    outcomes: tuple[WrittenOutcome, ...]
    added: tuple[PlacedNote, ...]

    def of(self, *verdicts: Verdict) -> Sequence[WrittenOutcome]:
        """The outcomes with one of some verdicts."""
        return [outcome for outcome in self.outcomes if outcome.verdict in verdicts]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimingSummary:
    """How a take lies in time, in s and per cent. None where too few notes tell.

    bias_s: median deviation, positive = late; also None where the notes themselves laid the clock (line, counts);
    spread_s: robust standard deviation around the trend; drift_percent: tempo at the end against the start, or all
    through against a known track, positive = faster, 0 where chance explains it; swing_ratio: long to short eighth;
    notes: how many the figures stand on.
    """

    bias_s: float | None
    spread_s: float | None
    drift_percent: float | None
    swing_ratio: float | None
    notes: int

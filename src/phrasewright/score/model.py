"""What should sound: notes, parts, chart and score.

All times are quarter notes (``Fraction``) from the start of the score. Swing and microtiming are
performance (``performance.py``) and never stand in a score. Pitches are sounding pitches.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.score.technique import PLAIN, Touch
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import Pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A pitched note. velocity: loudness of the stroke, 0..1; place, finger, degree, label: None/empty when not set."""

    onset: Fraction
    duration: Fraction
    pitch: Pitch
    velocity: float = 0.8
    place: StringFret | None = None
    finger: int | None = None  # 0 open, 1..4
    degree: Degree | None = None
    label: str = ""  # printed over the note where a phrase begins, e.g. the motif's letter
    touch: Touch = PLAIN  # how the hands play it

    def __post_init__(self) -> None:
        if self.onset < 0 or self.duration <= 0:
            raise ValueError(f"a note needs onset >= 0 and duration > 0, got {self.onset}, {self.duration}")
        if not 0.0 < self.velocity <= 1.0:
            raise ValueError(f"velocity must lie in (0, 1], got {self.velocity}")

    @property
    def end(self) -> Fraction:
        """Where it stops."""
        return self.onset + self.duration


class Drum(StrEnum):
    """The pieces of the kit."""

    KICK = "kick"
    SNARE = "snare"
    GHOST = "ghost snare"
    SIDE_STICK = "side stick"
    CLOSED_HAT = "closed hat"
    PEDAL_HAT = "pedal hat"
    OPEN_HAT = "open hat"
    RIDE = "ride"
    RIDE_BELL = "ride bell"
    CRASH = "crash"
    HIGH_TOM = "high tom"
    MID_TOM = "mid tom"
    LOW_TOM = "low tom"
    SHAKER = "shaker"
    CLICK = "click"  # count-in, accented by velocity


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """A drum stroke. velocity 0..1."""

    onset: Fraction
    drum: Drum
    velocity: float = 0.8

    def __post_init__(self) -> None:
        if self.onset < 0 or not 0.0 < self.velocity <= 1.0:
            raise ValueError(f"a hit needs onset >= 0 and velocity in (0, 1], got {self.onset}, {self.velocity}")


class PartRole(StrEnum):
    """What a part does in the ensemble."""

    LEAD = "lead"
    CHORDS = "chords"
    BASS = "bass"
    DRUMS = "drums"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A pitched part. notes: by onset; chords sound as notes of equal onset; instrument: set for tablature."""

    role: PartRole
    name: str
    notes: tuple[Note, ...]
    voice: str = "guitar"  # which instrument model plays it: see sound.voices
    instrument: Instrument | None = None

    def __post_init__(self) -> None:
        if any(b.onset < a.onset for a, b in zip(self.notes, self.notes[1:], strict=False)):
            raise ValueError(f"the notes of {self.name} are not in order")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrumPart:
    """The drums. hits: by onset."""

    name: str
    hits: tuple[Hit, ...]

    def __post_init__(self) -> None:
        if any(b.onset < a.onset for a, b in zip(self.hits, self.hits[1:], strict=False)):
            raise ValueError(f"the hits of {self.name} are not in order")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordSpan:
    """A chord and how long it holds; chord None = no chord; stop: the band strikes it short and is silent after."""

    onset: Fraction
    duration: Fraction
    chord: Chord | None
    stop: bool = False

    @property
    def end(self) -> Fraction:
        """Where the next chord begins."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One bar as it sounds. number: printed, from 1, 0 for a pick-up; chords: in order, filling the bar.

    pace: of the piece's tempo, here; slows: a ritardando through the bar. Onsets count from the score start.
    """

    number: int
    onset: Fraction
    meter: Meter
    chords: tuple[ChordSpan, ...]
    section: str = ""  # printed above the bar where a section begins
    pace: Fraction = Fraction(1)
    slows: bool = False

    @property
    def end(self) -> Fraction:
        """Where the next bar begins."""
        return self.onset + self.meter.bar


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """A piece: bars that tile time from 0, pitched parts, perhaps drums. fifths: key signature."""

    title: str
    measures: tuple[Measure, ...]
    parts: tuple[Part, ...]
    fifths: int
    drums: DrumPart | None = None
    words: str = ""  # a sentence of instruction

    def __post_init__(self) -> None:
        if not self.measures or self.measures[0].onset != 0:
            raise ValueError("a score begins with a bar at 0")
        if any(b.onset != a.end for a, b in zip(self.measures, self.measures[1:], strict=False)):
            raise ValueError("bars must follow each other without gap or overlap")

    @property
    def end(self) -> Fraction:
        """End of the last bar."""
        return self.measures[-1].end

    def part(self, role: PartRole) -> Part:
        """The first part with a role. Raises ValueError when there is none."""
        for part in self.parts:
            if part.role is role:
                return part
        raise ValueError(f"{self.title} has no {role} part")

    def measure_at(self, time: Fraction) -> Measure:
        """The bar that contains a time in [0, end). Raises ValueError outside."""
        for measure in self.measures:
            if measure.onset <= time < measure.end:
                return measure
        raise ValueError(f"no bar at {time}: the score is {self.end} long")

    def chord_at(self, time: Fraction) -> Chord | None:
        """The chord that holds at a time in [0, end)."""
        spans = self.measure_at(time).chords
        return next((span.chord for span in reversed(spans) if span.onset <= time), None)

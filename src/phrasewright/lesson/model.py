"""A lesson as values: what the file says, read and checked.

Everything is resolved (instrument, scale, chart, counts) except what has to be searched or composed; that is done
from these wishes in ``plan``. Tempos are beats a minute as a player taps them: see ``quarters_per_minute``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from itertools import chain

from phrasewright.band.groove import Groove
from phrasewright.compose.costs import Weights
from phrasewright.compose.exercise import ExerciseKind, ExerciseOrder
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.compose.rules.climb import ClimbTo
from phrasewright.compose.rules.paired import AnotherEnding, QuestionAndAnswer
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.single import (
    BeginWith,
    EndOn,
    EndOnChordTones,
    EndWith,
    NoHarderThan,
    Pinned,
    Spot,
)
from phrasewright.compose.rules.total import EveryMotif, KeepSpace, LongestRun
from phrasewright.compose.touches import TouchWish
from phrasewright.compose.wish import USUAL_DIAL, StudyWish
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Contour
from phrasewright.melody.priors import Idiom
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.request import PositionRequest
from phrasewright.score.chart import Chart
from phrasewright.score.performance import Performance
from phrasewright.theory.count import Count
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.scale import Scale
from phrasewright.units import A4_HZ


class Way(StrEnum):
    """How a note of a written motif is looked for from the note before it."""

    NEAREST = "nearest"
    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """One note of a motif written out: its degree and where it lies from the note before."""

    degree: Degree
    way: Way = Way.NEAREST

    def __str__(self) -> str:
        return str(self.degree) if self.way is Way.NEAREST else f"{self.way} {self.degree}"


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenMotif:
    """A motif as the teacher wrote it. cycle: octave of the position its first note lies in, 1 = lowest."""

    notes: tuple[WrittenNote, ...]
    cycle: int = 1
    name: str = ""

    def __post_init__(self) -> None:
        if not MIN_NOTES <= len(self.notes) <= MAX_NOTES:
            raise ValueError(f"a motif has {MIN_NOTES} to {MAX_NOTES} notes, got {len(self.notes)}")

    @property
    def text(self) -> str:
        """Its degrees as a lesson file writes them."""
        return " ".join(str(note) for note in self.notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfWish:
    """Which motifs the lesson offers. sizes may be empty when motifs are written; cycles empty = all of them."""

    sizes: tuple[int, ...]
    shapes: tuple[Contour, ...]
    largest_step: int
    cycles: tuple[int, ...]
    length: int  # how many motifs in all
    idiom: Idiom
    written: tuple[WrittenMotif, ...]
    left_out: tuple[WrittenMotif, ...] = ()  # never chosen

    @property
    def all_sizes(self) -> tuple[int, ...]:
        """Every size a count is needed for, rising."""
        return tuple(sorted({*self.sizes, *(len(motif.notes) for motif in self.written)}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Redrawn:
    """Bars (from 0) of a study (from 0, None = of all) that are drawn anew; another turn gives others."""

    bars: tuple[int, ...]
    study: int | None = None
    turn: int = 1

    def __post_init__(self) -> None:
        if not self.bars or self.turn < 1:
            raise ValueError(f"bars are drawn anew by name and turn, got {self}")

    def keeps(self, bars: int) -> tuple[int, ...]:
        """The other bars of a study so long."""
        return tuple(bar for bar in range(bars) if bar not in self.bars)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudySpec:
    """What the lesson asks of its studies. Bars count from 0.

    every_motif, longest_run: None = the usual rule where there is room; endings: degrees, empty = any; again: what
    is drawn anew in the composed studies, one after the other.
    """

    bars: int
    how_many: int = 1
    dial: float = USUAL_DIAL
    every_motif: bool | None = None
    longest_run: int | None = None
    most_space: Fraction = Fraction(1)
    chord_tone_endings: bool = False
    endings: tuple[Degree, ...] = ()
    question_and_answer: bool = False
    another_ending: bool = False
    first: Spot | None = None
    last: Spot | None = None
    peak: Spot | None = None
    hardest: float | None = None
    difficulties: tuple[float, ...] = ()
    pins: tuple[Pinned, ...] = ()
    again: tuple[Redrawn, ...] = ()
    weights: Weights = field(default_factory=Weights)

    @property
    def wish(self) -> StudyWish:
        """The wish to compose by."""
        return StudyWish(
            bars=self.bars,
            how_many=self.how_many,
            dial=self.dial,
            rules=tuple(self._rules()),
            left_out=(EveryMotif,) if self.every_motif is False else (),
            weights=self.weights,
            difficulties=self.difficulties,
        )

    def _rules(self) -> Iterator[Rule]:
        yield from self.pins
        for rule, spot in ((BeginWith, self.first), (EndWith, self.last), (ClimbTo, self.peak)):
            if spot is not None:
                yield rule(spot)
        if self.chord_tone_endings:
            yield EndOnChordTones()
        if self.endings:
            yield EndOn(self.endings)
        if self.question_and_answer:
            yield QuestionAndAnswer()
        if self.another_ending:
            yield AnotherEnding()
        if self.hardest is not None:
            yield NoHarderThan(self.hardest)
        if self.most_space < 1:
            yield KeepSpace(Fraction(0), self.most_space)
        if self.longest_run is not None:
            yield LongestRun(self.longest_run)
        if self.every_motif:
            yield EveryMotif()


class BandSound(StrEnum):
    """Where the band's sound comes from."""

    MODELS = "models"
    SAMPLED = "sampled"


FILE_KINDS = ("flac", "mp3", "ogg", "wav")


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundSpec:
    """How the band sounds, and in which files.

    soundfont: a name or path, empty = the computer's usual one; a4_hz: concert pitch; files: kinds of the mixes, stems:
    kinds of the stems, out of ``FILE_KINDS``.
    """

    source: BandSound = BandSound.MODELS
    soundfont: str = ""
    a4_hz: float = A4_HZ
    files: tuple[str, ...] = ("flac", "mp3")
    stems: tuple[str, ...] = ("flac",)


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeSpec:
    """Versions of the track to practise with; None or False = not made.

    tempo_bpm: tapped; call_and_response: bars played, and as many empty; drums_out: (bars out, of so many);
    rising_bpm: how much faster each chorus is.
    """

    tempo_bpm: float | None = None
    call_and_response: int | None = None
    drums_out: tuple[int, int] | None = None
    lead_aside: bool = False
    rising_bpm: float | None = None
    fourths: bool = False
    click: bool = False


class StretchKind(StrEnum):
    """How a recording is brought to another tempo."""

    USUAL = "usual"
    FINE = "fine"  # where pylibrb is installed


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingSpec:
    """The teacher's own track, by names of files beside the lesson. Either taps or beats is empty.

    choruses: how many it has, with pick-up and coda, None = the chorus goes round; first_bar, first_beat: what the
    first tap is.
    """

    file: str
    taps: str = ""
    beats: str = ""
    choruses: int | None = None
    stretch: StretchKind = StretchKind.USUAL
    first_bar: int = 1
    first_beat: int = 1

    @property
    def files(self) -> tuple[str, ...]:
        """All files that belong to it."""
        return tuple(name for name in (self.file, self.taps, self.beats) if name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """All of one lesson."""

    title: str
    words: str  # for the student
    teacher: str
    school: str
    seed: int
    instrument: Instrument
    scale: Scale
    position: PositionRequest
    shelf: ShelfWish
    counts: dict[int, tuple[Count, ...]]  # by number of notes, rising
    space: Fraction  # least share of silence, 0..9/10
    chart: Chart
    groove: Groove
    tempos_bpm: tuple[float, ...]  # tapped beats a minute
    choruses: int
    exercises: tuple[ExerciseKind, ...]
    order: ExerciseOrder
    study: StudySpec
    touches: TouchWish  # how the lead of studies and track may be played
    practice: PracticeSpec
    sound: SoundSpec = SoundSpec()
    lead_voice: LeadVoice = LeadVoice.GUITAR
    recording: RecordingSpec | None = None  # instead of the band's track
    groove_file: str = ""  # beside the lesson, where the groove is the teacher's own

    @property
    def meter(self) -> Meter:
        """The meter of the chart."""
        return self.chart.meter

    @property
    def all_counts(self) -> tuple[Count, ...]:
        """Every count, small ones first."""
        return tuple(chain.from_iterable(self.counts.values()))

    def quarters_per_minute(self, tempo_bpm: float) -> float:
        """A tapped tempo as quarter notes a minute, as the score model counts."""
        return tempo_bpm * float(tapped_beat(self.meter))

    def performance(self, tempo_bpm: float) -> Performance:
        """How the lesson's groove is played at a tapped tempo."""
        return Performance(tempo_bpm=self.quarters_per_minute(tempo_bpm), swing=self.groove.swing)


def tapped_beat(meter: Meter) -> Fraction:
    """The beat that tempos count, in quarter notes: a quarter note, in compound meters the dotted quarter's pulse."""
    return meter.pulse if meter.is_compound else Fraction(1)

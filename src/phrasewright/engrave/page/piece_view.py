"""A piece as the page plays it, as plain values: bars, and events with their swing weights and clips.

Times are quarter notes (``Fraction``) from the start of the piece.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.engrave.page.sound_bank import ClipUse
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import PartRole
from phrasewright.score.pace import AS_WRITTEN, Pace
from phrasewright.score.performance import SwingCurve

_ID = re.compile(r"[a-z][a-z0-9-]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceChord:
    """A chord symbol as printed, and where it begins."""

    onset: Fraction
    printed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceBar:
    """One bar as it sounds. weight: swing weight of its bar line; beats: their offsets from the bar line.

    chart_bar: the bar of the written chart it comes from, from 1, 0 its pick-up; None when it follows no chart.
    """

    number: int
    onset: Fraction
    length: Fraction
    weight: Fraction
    beats: tuple[Fraction, ...]
    chords: tuple[PieceChord, ...] = ()
    chart_bar: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceEvent:
    """One note or stroke. velocity: 0..1, already part of ``clip.gain``; note: index in the lead part, for lighting.

    stops: it is silent soon after its end: a stroke although its part rings out by itself, a note because its string
    goes on in the next; delay_s: how much later than
    written it sounds (a strummed string); lane: the timekeeper whose soft strokes are left out when they come too fast.
    """

    role: PartRole
    onset: Fraction
    end: Fraction
    onset_weight: Fraction
    end_weight: Fraction
    clip: ClipUse
    velocity: float
    stops: bool = False
    note: int | None = None
    place: StringFret | None = None
    pitch_midi: int | None = None
    delay_s: float = 0.0
    lane: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceView:
    """Something the page can play. id: lower-case letters, digits, hyphens; tempos_bpm: the lesson's own, rising.

    tempo_bpm: where practice begins, in quarter notes per minute; the 100 % of the tempo control.
    recording: name of the recording that it is played by, bar by bar, at its one tempo; empty when the band plays.
    beat: the beat that a player taps, in quarter notes; tempos are shown in it. pace: tempo changes on the way.
    """

    id: str
    title: str
    bars: tuple[PieceBar, ...]
    events: tuple[PieceEvent, ...]
    swing: SwingCurve
    tempo_bpm: float
    tempos_bpm: tuple[float, ...]
    beat: Fraction = Fraction(1)
    pace: Pace = AS_WRITTEN
    recording: str = ""

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.id):
            raise ValueError(f"a piece id is lower-case letters, digits and hyphens, got {self.id!r}")
        if not self.bars:
            raise ValueError(f"piece {self.id} has no bars")

    @property
    def roles(self) -> tuple[PartRole, ...]:
        """Parts that sound in it, in the order of ``PartRole``."""
        present = {event.role for event in self.events}
        return tuple(role for role in PartRole if role in present)

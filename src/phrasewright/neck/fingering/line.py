"""What a fingering starts from and ends in: timed notes, a teacher's wishes, fingered notes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.request import default_stretch_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class LineNote:
    """A note as it sounds. onset_s: any finite number; duration_s: >= 0; pitch_midi: the nearest semitone."""

    onset_s: float
    duration_s: float
    pitch_midi: int

    def __post_init__(self) -> None:
        if not math.isfinite(self.onset_s):
            raise ValueError(f"an onset must be a finite number of seconds, got {self.onset_s}")
        if not (math.isfinite(self.duration_s) and self.duration_s >= 0):
            raise ValueError(f"a duration must be >= 0 s, got {self.duration_s}")


class Picking(StrEnum):
    """How the picking hand moves."""

    NONE = "none"  # not asked for
    ALTERNATE = "alternate"  # down and up in turn, whatever the strings
    ECONOMY = "economy"  # in turn on one string; to another string the way the pick already goes


class Pick(StrEnum):
    """The direction of one stroke."""

    DOWN = "down"  # towards the floor: from higher to lower string numbers
    UP = "up"


@dataclass(frozen=True, slots=True, kw_only=True)
class FingeringWish:
    """How a line should lie. Everything may be left open.

    stay_in: lowest and highest fret to press, counted from the nut; open strings only when the first is 0 (or the
    capo's). prefer_open: open strings rather than pressed ones. beginner: make the worst move as small as can be.
    max_stretch_mm: furthest from the index finger that another may press, None for ``default_stretch_mm``.
    """

    stay_in: tuple[int, int] | None = None
    prefer_open: bool = False
    beginner: bool = False
    max_stretch_mm: float | None = None
    picking: Picking = Picking.NONE

    def __post_init__(self) -> None:
        if self.stay_in is not None and not 0 <= self.stay_in[0] <= self.stay_in[1]:
            raise ValueError(f"a position runs from a lower fret to a higher one, got {self.stay_in}")
        if self.max_stretch_mm is not None and not self.max_stretch_mm > 0:
            raise ValueError(f"the largest stretch must be > 0 mm, got {self.max_stretch_mm}")

    def stretch_limit_mm(self, instrument: Instrument) -> float:
        """The widest stretch allowed on an instrument, in mm."""
        return self.max_stretch_mm if self.max_stretch_mm is not None else default_stretch_mm(instrument)


@dataclass(frozen=True, slots=True, kw_only=True)
class FingeredNote:
    """Where a note is played. finger: 0 = open string, 1 index .. 4 little; hand_fret: where the index finger rests."""

    place: StringFret
    finger: int
    hand_fret: int
    pick: Pick | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FingeredLine:
    """Notes in the order they were given. impossible: indexes of notes that no hand reaches together with a chord."""

    notes: tuple[FingeredNote, ...]
    impossible: tuple[int, ...] = ()

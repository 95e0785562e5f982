"""What a teacher asks of the neck: a style, a fret, the strings, and how far the hand may stretch."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.theory.interval import Degree

LEAST_STRETCH_MM = 130.0  # index to little finger; a design choice, not a measured hand (docs/neck.md gives the reason)


def default_stretch_mm(instrument: Instrument) -> float:
    """How far apart index and little finger may press when nobody says otherwise, in mm.

    130 mm lets one hand span frets 1 to 5 of a 648 mm neck (126 mm) and not 3 to 8 (139 mm). A longer neck
    asks for more by its build: one finger per fret on frets 1 to 4 is always allowed.
    """
    return max(LEAST_STRETCH_MM, instrument.stretch_mm(1, 4))


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionRequest:
    """A wish. Everything but ``style`` may be left open.

    fret: where the hand should lie, counted from the nut. lowest_string, highest_string: the outermost strings to use,
    by number (5 and 1: fifth string up). string: the one string of a one-string path. notes_per_string: of a
    three-per-string shape. max_stretch_mm: widest the hand may open, None for ``default_stretch_mm``. added_above,
    added_below: optional notes past the ends of the position. left_out: degrees that are not used, each in one cycle or
    (None) in all.
    """

    style: PositionStyle
    fret: int | None = None
    lowest_string: int | None = None
    highest_string: int | None = None
    string: int | None = None
    notes_per_string: int = 3
    max_stretch_mm: float | None = None
    added_above: int = 0
    added_below: int = 0
    left_out: tuple[tuple[Degree, int | None], ...] = ()

    def __post_init__(self) -> None:
        if self.fret is not None and self.fret < 0:
            raise ValueError(f"fret must be >= 0, got {self.fret}")
        if not 2 <= self.notes_per_string <= 4:
            raise ValueError(f"notes per string must lie in 2..4, got {self.notes_per_string}")
        if self.max_stretch_mm is not None and self.max_stretch_mm <= 0:
            raise ValueError(f"the largest stretch must be > 0 mm, got {self.max_stretch_mm}")
        if min(self.added_above, self.added_below) < 0:
            raise ValueError("added notes must be >= 0")

    def stretch_limit_mm(self, instrument: Instrument) -> float:
        """The widest stretch allowed on an instrument, in mm."""
        return self.max_stretch_mm if self.max_stretch_mm is not None else default_stretch_mm(instrument)

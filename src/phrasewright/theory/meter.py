"""Meters: how long a bar is and how it is felt.

Musical time is counted in quarter notes (``Fraction``) everywhere. A meter's *pulse* is the beat a player
taps (dotted quarter in 6/8 and 12/8), its *unit* the note value of the lower number, and its *groups* the
way notes are beamed together. Groupings of 5/4 and 7/8 are common practice (3+2 and 2+2+3).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

_GROUPS = {(5, 4): (3, 2), (7, 8): (2, 2, 3), (5, 8): (3, 2)}


@dataclass(frozen=True)
class Meter:
    """A time signature. upper: units per bar, > 0; lower: 2, 4, 8 or 16."""

    upper: int
    lower: int

    def __post_init__(self) -> None:
        if self.upper < 1 or self.lower not in (2, 4, 8, 16):
            raise ValueError(f"not a meter: {self.upper}/{self.lower}")

    @classmethod
    def parse(cls, text: str) -> Meter:
        """Read ``4/4``. Raises ValueError otherwise."""
        upper, slash, lower = text.strip().partition("/")
        if not (slash and upper.isascii() and upper.isdigit() and lower.isascii() and lower.isdigit()):
            raise ValueError(f"not a meter: {text!r}")
        return cls(int(upper), int(lower))

    @cached_property
    def unit(self) -> Fraction:
        """Length of one counted unit, in quarter notes."""
        return Fraction(4, self.lower)

    @cached_property
    def bar(self) -> Fraction:
        """Length of a bar, in quarter notes."""
        return self.upper * self.unit

    @cached_property
    def is_compound(self) -> bool:
        """True when the tapped beat divides in three (6/8, 9/8, 12/8)."""
        return self.lower >= 8 and self.upper % 3 == 0 and self.upper > 3

    @cached_property
    def pulse(self) -> Fraction:
        """Length of the tapped beat, in quarter notes (of the first group in an odd meter's case: the unit)."""
        return 3 * self.unit if self.is_compound else self.unit

    @cached_property
    def groups(self) -> tuple[Fraction, ...]:
        """Lengths of the felt groups of a bar, in quarter notes; they sum to the bar."""
        if self.is_compound:
            return (self.pulse,) * (self.upper // 3)
        if (self.upper, self.lower) in _GROUPS:
            return tuple(n * self.unit for n in _GROUPS[self.upper, self.lower])
        return (self.unit,) * self.upper

    @cached_property
    def group_starts(self) -> tuple[Fraction, ...]:
        """Offsets of the groups from the bar line, in quarter notes."""
        starts = [Fraction(0)]
        for length in self.groups[:-1]:
            starts.append(starts[-1] + length)
        return tuple(starts)

    def __str__(self) -> str:
        return f"{self.upper}/{self.lower}"


# those that lessons, grooves and tracks may have
METERS = tuple(Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8"))

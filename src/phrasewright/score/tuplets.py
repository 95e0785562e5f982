"""Tuplets: which stretches of a bar are divided otherwise than by halves, and how that is written.

One bracket a counted unit, or one over two units where three equal notes fill them. Common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from phrasewright.score.model import Measure
from phrasewright.score.rhythm import NoteValue, plain_value

TUPLETS = {3: 2, 5: 4, 7: 4, 9: 8}  # how many notes in the time of how many


@dataclass(frozen=True, slots=True)
class Tuplet:
    """A bracket: ``actual`` equal parts in the time of ``normal``. onset, length: quarter notes."""

    onset: Fraction
    length: Fraction
    actual: int
    normal: int

    @property
    def unit(self) -> NoteValue:
        """The plain written value of one part."""
        value = plain_value(self.length / self.normal)
        if value is None:
            raise ValueError(f"no note value for a tuplet of {self.actual} in {self.length} quarter notes")
        return value


def tuplets_of(points: list[Fraction], measure: Measure) -> tuple[Tuplet, ...]:
    """The tuplets of a bar. points: rising, every moment at which something begins or ends.

    Raises ValueError when a unit is divided in a way that no tuplet of ``TUPLETS`` writes.
    """
    unit = measure.meter.unit
    found: list[Tuplet] = []
    at = measure.onset
    while at < measure.end:
        pair = _pair_tuplet(points, measure, at)
        found.extend([pair] if pair else _span_tuplets(points, at, unit))
        at += 2 * unit if pair else unit
    return tuple(found)


def _pair_tuplet(points: list[Fraction], measure: Measure, at: Fraction) -> Tuplet | None:
    """A triplet over two units of an even simple meter: three equal parts, the middle one crossing between them."""
    meter, unit = measure.meter, measure.meter.unit
    even_place = ((at - measure.onset) / unit) % 2 == 0 and at + 2 * unit <= measure.end
    if meter.is_compound or meter.upper % 2 or meter.lower > 4 or not even_place or at + unit in points:
        return None
    inside = [(point - at) / (2 * unit) for point in points if at < point < at + 2 * unit]
    if inside != [Fraction(1, 3), Fraction(2, 3)]:
        return None
    return Tuplet(at, 2 * unit, 3, 2)


def _span_tuplets(points: list[Fraction], start: Fraction, length: Fraction) -> list[Tuplet]:
    """Tuplets inside one unit: none on the binary grid; per half where the middle is struck."""
    inside = [(point - start) / length for point in points if start < point < start + length]
    odd = max((_odd_part(point.denominator) for point in inside), default=1)
    if odd == 1:
        return []
    if Fraction(1, 2) in inside:
        half = length / 2
        return _span_tuplets(points, start, half) + _span_tuplets(points, start + half, half)
    if odd not in TUPLETS or any(odd % _odd_part(point.denominator) for point in inside):
        raise ValueError(f"the rhythm at {start} quarter notes cannot be written: it divides the beat by {odd}")
    return [Tuplet(start, length, odd, TUPLETS[odd])]


def _odd_part(number: int) -> int:
    while number % 2 == 0:
        number //= 2
    return number

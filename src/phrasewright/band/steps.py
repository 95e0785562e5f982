"""Patterns of a bar as text, one character a step.

A pattern divides its bar evenly: eight characters in 4/4 are eighths, sixteen are sixteenths, twelve in 12/8 are
eighths. Spaces are for the eye only. ``.`` is silence and ``-`` holds the stroke before; every other character is a
stroke, and the part that plays it says what it means.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from phrasewright.theory.meter import Meter

REST, HOLD = ".", "-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One stroke of a pattern. onset: quarter notes from the bar line; duration: with its holds."""

    onset: Fraction
    duration: Fraction
    sign: str


def read_steps(pattern: str, meter: Meter) -> tuple[Step, ...]:
    """The strokes of a pattern in a bar. Raises ValueError for an empty pattern or a hold without a stroke."""
    signs = pattern.replace(" ", "")
    if not signs:
        raise ValueError("a pattern needs at least one step")
    length = meter.bar / len(signs)
    steps: list[Step] = []
    for place, sign in enumerate(signs):
        if sign == HOLD:
            if place == 0 or signs[place - 1] == REST:
                raise ValueError(f"there is nothing to hold at step {place + 1} of {pattern!r}")
            last = steps[-1]
            steps[-1] = Step(onset=last.onset, duration=last.duration + length, sign=last.sign)
        elif sign != REST:
            steps.append(Step(onset=place * length, duration=length, sign=sign))
    return tuple(steps)

"""Patterns of a bar as text, one character a step.

A pattern divides its bar evenly: eight characters in 4/4 are eighths, sixteen are sixteenths, twelve in 12/8 are
eighths. Spaces are for the eye only. ``.`` is silence and ``-`` holds the stroke before; every other character is a
stroke, and the part that plays it says what it means.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from phrasewright.theory.meter import Meter

REST, HOLD = ".", "-"
BAR_LINE = "|"  # inside a riff, which may be longer than a bar
STEPS = (Fraction(1), Fraction(1, 2), Fraction(1, 4))  # quarters, eighths, sixteenths


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One stroke of a pattern. onset: quarter notes from the bar line; duration: with its holds."""

    onset: Fraction
    duration: Fraction
    sign: str


def signs_of(pattern: str) -> str:
    """A pattern without the spaces that are for the eye."""
    return "".join(pattern.split())


def bars_of(pattern: str) -> tuple[str, ...]:
    """The bars of a riff, in order; a pattern without a bar line is one bar."""
    return tuple(bar.strip() for bar in pattern.split(BAR_LINE))


def stroke_count(pattern: str) -> int:
    """How many strokes a pattern has: how busy it is."""
    return sum(sign not in (REST, HOLD, BAR_LINE) for sign in signs_of(pattern))


@cache
def fitting_lengths(meter: Meter) -> tuple[int, ...]:
    """How many steps fill a bar: tapped beats, quarters, eighths or sixteenths, fewest first."""
    lengths = {meter.bar / step for step in (meter.pulse, *STEPS)}
    return tuple(sorted(int(length) for length in lengths if length.denominator == 1))


def unheld(signs: str) -> int | None:
    """The first step, from 1, that holds although nothing sounds before it; None when every hold has a stroke."""
    place = f"{REST}{signs}".find(REST + HOLD)
    return None if place < 0 else place + 1


def read_steps(pattern: str, meter: Meter) -> tuple[Step, ...]:
    """The strokes of a pattern in a bar. Raises ValueError for an empty pattern or a hold without a stroke."""
    signs = signs_of(pattern)
    if not signs:
        raise ValueError("a pattern needs at least one step")
    silent = unheld(signs)
    if silent is not None:
        raise ValueError(f"there is nothing to hold at step {silent} of {pattern!r}")
    length = meter.bar / len(signs)
    steps: list[Step] = []
    for place, sign in enumerate(signs):
        if sign == HOLD:
            last = steps[-1]
            steps[-1] = Step(onset=last.onset, duration=last.duration + length, sign=last.sign)
        elif sign != REST:
            steps.append(Step(onset=place * length, duration=length, sign=sign))
    return tuple(steps)

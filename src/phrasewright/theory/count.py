"""Counts: a rhythm written as it is spoken.

``1 2 3`` is three notes on the first three beats, then silence. Words:

    1 2 3 ...     a note on that unit of the bar (the lower number of the meter: quarters in 4/4, eighths in 12/8)
    &             half-way through the unit            e / a   first / last quarter of it
    trip let      second and third third of the unit
    -             hold the note before through the next unit (``1 - 3``), or up to a word struck inside it (``1 - &``)
    (2) (&) ...   said but not played: a rest in that place
    |             bar line, for counts longer than a bar

A note lasts until the next word of the same unit, or else to the end of that unit (longer with ``-``).
The syllables are common practice in North American and British class teaching (from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from phrasewright.theory.meter import Meter

_PARTS = {
    "e": Fraction(1, 4),
    "&": Fraction(1, 2),
    "a": Fraction(3, 4),
    "trip": Fraction(1, 3),
    "let": Fraction(2, 3),
}
_WORD = re.compile(r"(\()?(\d+|&|e|a|trip|let)(?(1)\))|-|\|")


class CountError(ValueError):
    """A count that cannot be read; ``column`` is 0-based in the text."""

    def __init__(self, message: str, column: int) -> None:
        super().__init__(message)
        self.column = column


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One played note of a count, in quarter notes from the start of the count's first bar."""

    onset: Fraction
    duration: Fraction
    word: str


@dataclass(frozen=True, kw_only=True)
class Count:
    """A rhythm in a meter. bars: how many bars it spans; text: as written, spaces normalised."""

    text: str
    meter: Meter
    strokes: tuple[Stroke, ...]
    bars: int

    @cached_property
    def length(self) -> Fraction:
        """Whole bars spanned, in quarter notes."""
        return self.bars * self.meter.bar

    @cached_property
    def sounding(self) -> Fraction:
        """Time filled with notes, in quarter notes."""
        return sum((stroke.duration for stroke in self.strokes), Fraction(0))

    @cached_property
    def space(self) -> Fraction:
        """Share of the time that is silent, 0..1."""
        return 1 - self.sounding / self.length

    @cached_property
    def end(self) -> Fraction:
        """Where the last note stops, in quarter notes."""
        return max((stroke.onset + stroke.duration for stroke in self.strokes), default=Fraction(0))


@dataclass(slots=True)
class _Mark:
    """A word placed in time; silent ones only end the note before."""

    at: Fraction
    unit_end: Fraction
    word: str
    silent: bool


def parse_count(text: str, meter: Meter) -> Count:
    """Read a count in a meter. Raises CountError (with the column) on anything that cannot be spoken so."""
    marks, bars = _place_words(text, meter)
    strokes = []
    for index, mark in enumerate(marks):
        if mark.silent:
            continue
        following = marks[index + 1].at if index + 1 < len(marks) else mark.unit_end
        end = min(mark.unit_end, following)
        strokes.append(Stroke(onset=mark.at, duration=end - mark.at, word=mark.word))
    if not strokes:
        raise CountError("a count needs at least one played note", 0)
    return Count(text=" ".join(text.split()), meter=meter, strokes=tuple(strokes), bars=bars)


def _place_words(text: str, meter: Meter) -> tuple[list[_Mark], int]:
    marks: list[_Mark] = []
    bar, unit_index = 0, 0
    for token in re.finditer(r"\S+", text):
        word, column = token[0], token.start()
        match = _WORD.fullmatch(word.lower())
        if match is None:
            raise CountError(f"{word!r} is not a count word", column)
        if word == "|":
            bar, unit_index = bar + 1, 0
            continue
        if word == "-":
            unit_index = _hold(marks, unit_index, meter, bar, column)
            continue
        syllable = match[2]
        if syllable.isdigit():
            unit_index = int(syllable)
            if not 1 <= unit_index <= meter.upper:
                raise CountError(f"there is no {syllable} in a bar of {meter}", column)
            part = Fraction(0)
        else:
            unit_index = max(unit_index, 1)
            part = _PARTS[syllable]
        start = bar * meter.bar + (unit_index - 1) * meter.unit
        mark = _Mark(start + part * meter.unit, start + meter.unit, syllable, match[1] is not None)
        if marks and mark.at <= marks[-1].at:
            raise CountError(f"{word!r} comes before the word in front of it", column)
        marks.append(mark)
    return marks, bar + 1


def _hold(marks: list[_Mark], unit_index: int, meter: Meter, bar: int, column: int) -> int:
    if not marks or marks[-1].silent:
        raise CountError("there is no note to hold here", column)
    if unit_index >= meter.upper or marks[-1].at < bar * meter.bar:
        raise CountError("a hold may not cross the bar line", column)
    marks[-1].unit_end = bar * meter.bar + (unit_index + 1) * meter.unit
    return unit_index + 1

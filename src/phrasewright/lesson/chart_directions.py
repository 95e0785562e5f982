"""What a chart says besides its chords: the order of its sections, its coda, and directions at a bar.

order: A A B A      a line of its own: the sections as they are played, each written once; names of several words
                    stand between commas
[Coda]              a section that is played once, after the last chorus
@coda               behind the last chord of a bar: the last time, the coda follows this bar
@80%                before the first chord of a bar: from here at so much of the tempo, until another one
@rit                in the same place: slower through this bar
3/4                 in the same place: from here in this meter, until another one
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

from phrasewright.lesson.chart_repeats import MAX_BARS
from phrasewright.score.chart import ChartBar
from phrasewright.theory.meter import Meter

CODA = "coda"
SLOWEST, FASTEST = 25, 400  # per cent of the tempo
ORDER_EXAMPLE = "order: A A B A"
_PACE = re.compile(r"@(\d{1,4})%", re.ASCII)
_METER = re.compile(r"\d{1,3}/\d{1,3}", re.ASCII)
_TO_CODA, _RIT = "@coda", "@rit"
LARGEST_UPPER = 15

Noted = Callable[[int, str, str], None]  # a problem: character of the text, what, hint


class Directions:
    """Directions read so far, and those that wait for the bar they stand in."""

    def __init__(self, meter: Meter, noted: Noted) -> None:
        self.home = self.meter = meter
        self.pace = Fraction(1)
        self.slows = False
        self.to_coda = False
        self.waiting: int | None = None  # offset of a direction whose bar has not come yet
        self.coda_offset: int | None = None
        self._noted = noted

    @staticmethod
    def knows(word: str) -> bool:
        """True for a word that is a direction, right or wrong."""
        return word.startswith("@") or _METER.fullmatch(word) is not None

    def take(self, word: str, offset: int, *, inside: bool) -> None:
        """One direction. inside: chords of the bar stand before it."""
        pace = _PACE.fullmatch(word)
        if word == _TO_CODA:
            self._take_to_coda(offset, inside=inside)
        elif inside:
            what = f"{word} stands inside a bar"
            self._noted(offset, what, "Meter and tempo change at a bar line: write it before the first chord of a bar.")
        elif word == _RIT:
            self.slows, self.waiting = True, offset
        elif pace is not None:
            self._take_pace(int(pace[1]), word, offset)
        elif _METER.fullmatch(word):
            self._take_meter(word, offset)
        else:
            hint = "Write @80% for a tempo, @rit to slow down, @coda to leave for the coda."
            self._noted(offset, f"there is no direction {word}", hint)

    def _take_to_coda(self, offset: int, *, inside: bool) -> None:
        if not inside:
            self._noted(offset, "@coda stands before its bar", "Write it behind the last chord of the bar.")
        elif self.coda_offset is not None:
            self._noted(offset, "@coda stands twice", "A chart leaves for its coda at one place: take one out.")
        self.to_coda, self.coda_offset = True, offset

    def _take_pace(self, percent: int, word: str, offset: int) -> None:
        if not SLOWEST <= percent <= FASTEST:
            what = f"{word} is no tempo the band can take"
            self._noted(offset, what, f"Write {SLOWEST} to {FASTEST} per cent of the tempo, for instance @50%.")
            return
        self.pace, self.waiting = Fraction(percent, 100), offset

    def _take_meter(self, word: str, offset: int) -> None:
        upper, lower = (int(number) for number in word.split("/"))
        if not 1 <= upper <= LARGEST_UPPER or lower not in (4, 8):
            hint = f"Write quarters or eighths, up to {LARGEST_UPPER} in a bar: 2/4 or 7/8."
            self._noted(offset, f"there is no meter {word} here", hint)
            return
        self.meter, self.waiting = Meter(upper, lower), offset

    def on(self, bar: ChartBar) -> ChartBar:
        """A bar that is complete, with the directions that hold for it."""
        meter = None if self.meter == self.home else self.meter
        told = replace(bar, meter=meter, pace=self.pace, slows=self.slows, to_coda=self.to_coda)
        self.slows, self.to_coda, self.waiting = False, False, None
        return told

    def finish(self) -> None:
        """No more bars follow."""
        if self.waiting is not None:
            self._noted(self.waiting, "no bar follows this direction", "Write it before the chords it is for.")


def split_coda(
    bars: Sequence[ChartBar], directions: Directions, noted: Noted, offset: int
) -> tuple[tuple[ChartBar, ...], tuple[ChartBar, ...]]:
    """The chorus and the coda, which is the last section. offset: of its name."""
    place = next((n for n, bar in enumerate(bars) if bar.section.casefold() == CODA), len(bars))
    chorus, coda = tuple(bars[:place]), tuple(bars[place:])
    if any(bar.section for bar in coda[1:]):
        noted(offset, "a section follows the coda", "The coda is played last: write it behind the other sections.")
    if coda and not chorus:
        noted(offset, "there is a coda but nothing before it", "Write the chorus above [Coda].")
    if directions.coda_offset is not None and not coda:
        noted(
            directions.coda_offset, "there is no coda to leave for", "Write a section [Coda] at the end of the chart."
        )
    return chorus, coda


def leaving_once(bars: Sequence[ChartBar]) -> tuple[ChartBar, ...]:
    """Bars as they are played: of a bar that comes several times, only the last one leaves for the coda."""
    leaves = max((number for number, bar in enumerate(bars) if bar.to_coda), default=None)
    return tuple(replace(bar, to_coda=number == leaves) for number, bar in enumerate(bars))


def in_order(bars: Sequence[ChartBar], line: str, offset: int, noted: Noted) -> tuple[ChartBar, ...]:
    """The bars as an order line says. offset: of the line's first character."""
    words = line.partition(":")[2]
    names = [" ".join(name.split()) for name in (words.split(",") if "," in words else words.split())]
    sections = _sections(bars, offset, noted)
    if not any(names):
        noted(offset, "this order names no section", f"Write the sections as they are played: {ORDER_EXAMPLE}.")
        return tuple(bars)
    for name in dict.fromkeys(names):
        if name not in sections:
            known = f"Sections here: {', '.join(sections)}." if sections else "Name sections as [A] before their bars."
            noted(offset + max(line.find(name), 0), f'there is no section "{name}" to play', known)
    for name in sections:
        if name not in names:
            noted(offset, f"the order leaves out the section {name}", "Name every section, or take its bars out.")
    played = tuple(bar for name in names for bar in sections.get(name, ()))
    if len(played) > MAX_BARS:
        noted(offset, f"the chart is longer than {MAX_BARS} bars in this order", "Name fewer sections.")
        return tuple(bars)
    return played or tuple(bars)


def _sections(bars: Sequence[ChartBar], offset: int, noted: Noted) -> dict[str, list[ChartBar]]:
    """The bars of each section by its name."""
    number = 0
    sections: dict[str, list[ChartBar]] = {}

    def section_of(bar: ChartBar) -> int:
        nonlocal number
        number += bool(bar.section)
        return number

    for _, group in groupby(bars, key=section_of):
        part = list(group)
        name = part[0].section
        if not name:
            noted(offset, "the first bars have no section to name in an order", "Write a name before them: [A].")
        elif name in sections:
            noted(offset, f"two sections are called {name}", "Give each a name of its own.")
        else:
            sections[name] = part
    return sections

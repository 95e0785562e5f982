"""The lines of a beats file that say how many beats its bars have.

``meter`` alone: bars of that meter. ``chorus``: beats of the bars that go round, ``4 x3, 2, 4``. ``bars``: those of all
bars from 1 to the last, after which nothing comes. ``pickup``: beats of bar 0.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import groupby

from phrasewright.errors import NoteFileError, Problem
from phrasewright.listen.bar_layout import BarLayout
from phrasewright.theory.meter import METERS, Meter

LAYOUT_KEYS = ("meter", "pickup", "chorus", "bars")
MOST_BARS, MOST_BEATS = 20_000, 32
_WORD = re.compile(r"(\d{1,2})(?:\s*x\s*(\d{1,5}))?")


def layout_lines(layout: BarLayout) -> Iterator[str]:
    """The lines of a layout."""
    yield f"meter: {layout.meter}"
    if layout.pickup:
        yield f"pickup: {layout.pickup}"
    if layout.bars:
        runs = ((beats, len(tuple(alike))) for beats, alike in groupby(layout.bars))
        words = ", ".join(f"{beats} x{count}" if count > 1 else str(beats) for beats, count in runs)
        yield f"{'bars' if layout.ends else 'chorus'}: {words}"


def read_layout(lines: Mapping[str, tuple[str, int]], file: str) -> BarLayout:
    """The layout that lines state. lines: value and line number by key, ``meter`` among them. Raises NoteFileError."""
    if "meter" not in lines:
        raise _problem(file, "the line with the meter is missing", "Map the recording again: phrasewright beats.")
    name, line = lines["meter"]
    if name not in {str(meter) for meter in METERS}:
        raise _problem(file, f"there is no meter {name!r} here", f"Write one of {', '.join(map(str, METERS))}.", line)
    if "bars" in lines and "chorus" in lines:
        what = "the bars are listed twice, under chorus and under bars"
        raise _problem(file, what, "Map the recording again: phrasewright beats.", lines["bars"][1])
    key = next((key for key in ("bars", "chorus") if key in lines), None)
    return BarLayout(
        meter=Meter.parse(name),
        bars=() if key is None else _bars(*lines[key], file),
        pickup=_pickup(*lines["pickup"], file) if "pickup" in lines else 0,
        ends=key == "bars",
    )


def _bars(value: str, line: int, file: str) -> tuple[int, ...]:
    bars: list[int] = []
    for word in value.split(","):
        found = _WORD.fullmatch(word.strip())
        beats, count = (int(found[1]), int(found[2] or 1)) if found else (0, 0)
        if not (1 <= beats <= MOST_BEATS and count >= 1 and len(bars) + count <= MOST_BARS):
            what = f"{word.strip()!r} is no number of beats"
            raise _problem(file, what, "Write the beats of each bar, and how many bars have them: 4 x3, 2, 4.", line)
        bars += [beats] * count
    return tuple(bars)


def _pickup(value: str, line: int, file: str) -> int:
    if not re.fullmatch(r"[1-9]\d?", value):
        raise _problem(file, f"{value!r} is no number of beats", "Write how many beats the pick-up has: 1.", line)
    return int(value)


def _problem(file: str, what: str, hint: str, line: int | None = None) -> NoteFileError:
    return NoteFileError(file, Problem(what=what, hint=hint, line=line))

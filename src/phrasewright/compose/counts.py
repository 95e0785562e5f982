"""Counts to begin with: for each meter and motif size a few plain rhythms that leave space in the bar.

Common practice in beginners' class teaching; every one starts on the first beat and ends before the bar does, where
the meter has room.
"""

from __future__ import annotations

from collections.abc import Mapping

from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.meter import Meter

CountsBySize = Mapping[int, tuple[Count, ...]]

_TABLE: dict[str, dict[int, tuple[str, ...]]] = {
    "2/4": {2: ("1 &", "1 2"), 3: ("1 & 2", "1 e &"), 4: ("1 & 2 &", "1 e & a"), 5: ("1 e & a 2", "1 & 2 e &")},
    "3/4": {2: ("1 2", "1 - 3"), 3: ("1 & 2", "1 2 &"), 4: ("1 & 2 &", "1 & 2 3"), 5: ("1 & 2 & 3", "1 e & a 2")},
    "4/4": {2: ("1 2", "1 - 3"), 3: ("1 2 3", "1 & 2"), 4: ("1 & 2 3", "1 2 & 3"), 5: ("1 & 2 & 3", "1 2 & 3 &")},
    "5/4": {2: ("1 2", "1 - - 4"), 3: ("1 2 3", "1 & 2"), 4: ("1 & 2 3", "1 2 3 4"), 5: ("1 & 2 & 3", "1 & 2 3 4")},
    "6/8": {2: ("1 - 3", "1 - - 4"), 3: ("1 2 3", "1 - 3 4"), 4: ("1 2 3 4", "1 & 2 3"), 5: ("1 2 3 4 5", "1 & 2 3 4")},
    "7/8": {
        2: ("1 - 3", "1 - 3 -"),
        3: ("1 2 3", "1 - 3 5"),
        4: ("1 2 3 4", "1 2 3 5"),
        5: ("1 2 3 4 5", "1 2 3 - 5 6"),
    },
    "12/8": {
        2: ("1 - - 4 -", "1 - 3"),
        3: ("1 2 3", "1 - 3 4"),
        4: ("1 2 3 4", "1 - 3 4 - 6"),
        5: ("1 2 3 4 - 6", "1 - 3 4 - 6 7"),
    },
}


def default_counts(meter: Meter) -> dict[int, tuple[Count, ...]]:
    """At least one count for every motif size 2..5 in any meter; two plain ones in the usual meters."""
    rows = _TABLE.get(str(meter)) or {size: (_plain(size, meter),) for size in range(2, 6)}
    counts = {size: tuple(parse_count(text, meter) for text in texts) for size, texts in rows.items()}
    for size, row in counts.items():
        if any(len(count.strokes) != size for count in row):
            raise ValueError(f"a default count of {meter} does not have {size} notes")
    return counts


def complete_counts(counts: CountsBySize, meter: Meter) -> dict[int, tuple[Count, ...]]:
    """The teacher's counts, with defaults for the sizes they leave out. Raises ValueError for a wrong meter or size."""
    for size, row in counts.items():
        for count in row:
            if count.meter != meter or len(count.strokes) != size:
                raise ValueError(f"the count {count.text!r} is not {size} notes in {meter}")
    return default_counts(meter) | {size: row for size, row in counts.items() if row}


def _plain(size: int, meter: Meter) -> str:
    """One note on each unit, or two to a unit (four in the shortest bars) where the bar is too short for that."""
    for syllables in (("",), ("", "&"), ("", "e", "&", "a")):
        if size <= meter.upper * len(syllables):
            words = [syllable or str(unit + 1) for unit in range(meter.upper) for syllable in syllables]
            return " ".join(words[:size])
    words = ["1", "e", "&", "a"]
    return " ".join(words[: min(size, 4)] + ["|"] + ["1"] * (size - 4)) if size > 4 else " ".join(words[:size])

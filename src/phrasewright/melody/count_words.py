"""Writing a rhythm as it is spoken: the way back from strokes to count words.

``count_of`` is the inverse of ``theory.count.parse_count``: it looks for words that read back as exactly the
wanted onsets and lengths, and gives ``None`` where the spoken count has none (a note held over a bar line, or
finer than a quarter or a third of the counted unit).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from phrasewright.theory.count import Count, CountError, parse_count
from phrasewright.theory.meter import Meter

SYLLABLES = {
    Fraction(1, 4): "e",
    Fraction(1, 2): "&",
    Fraction(3, 4): "a",
    Fraction(1, 3): "trip",
    Fraction(2, 3): "let",
}


def count_of(strokes: Sequence[tuple[Fraction, Fraction]], meter: Meter, bars: int) -> Count | None:
    """The spoken count of (onset, duration) pairs in quarter notes over ``bars`` bars, None when unspeakable."""
    words = _words(strokes, meter, bars)
    if words is None:
        return None
    try:
        count = parse_count(" ".join(words), meter)
    except CountError:
        return None
    same = [(stroke.onset, stroke.duration) for stroke in count.strokes] == list(strokes)
    return count if same and count.bars == bars else None


def _words(strokes: Sequence[tuple[Fraction, Fraction]], meter: Meter, bars: int) -> list[str] | None:
    words: list[str] = []
    bar, unit = 0, -1  # the bar and the counted unit (from 0) that the last word lies in
    for index, (onset, duration) in enumerate(strokes):
        if onset < 0 or onset >= bars * meter.bar:
            return None
        own_bar = int(onset // meter.bar)
        if own_bar > bar:
            words += ["|"] * (own_bar - bar)
            bar, unit = own_bar, -1
        own_unit, part = divmod((onset % meter.bar) / meter.unit, 1)
        spoken = _struck(int(own_unit), part, unit)
        if spoken is None:
            return None
        following = strokes[index + 1][0] if index + 1 < len(strokes) else None
        held = _held((onset % meter.bar + duration) / meter.unit, int(own_unit), meter, following == onset + duration)
        if held is None:
            return None
        words += spoken + held[0]
        unit = held[1]
    return words + ["|"] * (bars - 1 - bar)


def _struck(own_unit: int, part: Fraction, unit: int) -> list[str] | None:
    """The words that strike a note at ``part`` of its unit; the unit's number in brackets when not yet said."""
    if part == 0:
        return [str(own_unit + 1)]
    if part not in SYLLABLES:
        return None
    lead_in = [] if unit == own_unit else [f"({own_unit + 1})"]
    return [*lead_in, SYLLABLES[part]]


def _held(end_units: Fraction, own_unit: int, meter: Meter, met: bool) -> tuple[list[str], int] | None:
    """Holds and the closing rest of a note that ends at ``end_units``; ``met`` = the next note ends it."""
    words, unit = [], own_unit
    while unit + 1 < end_units:
        words.append("-")
        unit += 1
        if unit >= meter.upper:
            return None
    if end_units < unit + 1 and not met:
        part = end_units - unit
        if part not in SYLLABLES:
            return None
        words.append(f"({SYLLABLES[part]})")
    return words, unit

"""How many bars fit on one line: a bar's need is what its notes and words take at least, in mm.

The measures per note are set by eye on the engraver's output: a column must hold a head with its accidental, a fret
of two figures and a degree with a sign.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from phrasewright.engrave.outlines import Run, width_of
from phrasewright.score.accidentals import printed_accidentals
from phrasewright.score.notation import WrittenBar, WrittenEvent

COLUMN_MM = 3.4  # a column of the shortest notes
LONGER_MM = 0.9  # added for each doubling over a sixteenth
ACCIDENTAL_MM = 2.4
BAR_MM = 3.0  # room at both bar lines
CLEF_MM = 11.0
SIGN_MM = 2.0  # each sharp or flat of the key
METER_MM = 4.0
CHORD_EM_MM = 4.3
_SIXTEENTH = Fraction(1, 4)


def bar_needs_mm(bars: Sequence[WrittenBar], fifths: int, chords: Sequence[Sequence[str]]) -> tuple[float, ...]:
    """Least width of each bar. chords: the names printed in each bar."""
    accidentals = printed_accidentals(bars, fifths)
    signs = [sum(1 for place, _ in accidentals if place == index) for index in range(len(bars))]
    return tuple(
        max(_notes_mm(bar) + count * ACCIDENTAL_MM, _chords_mm(names)) + BAR_MM
        for bar, count, names in zip(bars, signs, chords, strict=True)
    )


def _notes_mm(bar: WrittenBar) -> float:
    moments = {event.onset for voice in bar.voices for event in voice} | {bar.measure.end}
    moments |= {moment for event in bar.voices[0] if event.is_rest for moment in _beats(event, bar)}
    return sum(_column_mm(after - before) for before, after in pairwise(sorted(moments)))


def _beats(rest: WrittenEvent, bar: WrittenBar) -> Iterator[Fraction]:
    """A rest has the width of a note on each of its beats."""
    at = rest.onset
    while at < rest.end:
        yield at
        at += bar.measure.meter.pulse


def _column_mm(length: Fraction) -> float:
    doublings = max((length / _SIXTEENTH).numerator // (length / _SIXTEENTH).denominator, 1).bit_length() - 1
    return COLUMN_MM + LONGER_MM * doublings


def _chords_mm(names: Sequence[str]) -> float:
    return sum(width_of([Run(name, CHORD_EM_MM)]) + CHORD_EM_MM / 2 for name in names)


def head_mm(fifths: int) -> float:
    """Width of clef, key and meter at the start of a line."""
    return CLEF_MM + SIGN_MM * abs(fifths) + METER_MM


def bars_that_fit(needs_mm: Sequence[float], width_mm: float, most: int) -> int:
    """Bars on each line, the same for all: ``most`` halved until every line fits; at least 1. most: 1 or more."""
    count = most
    while count > 1 and line_need_mm(needs_mm, count) > width_mm:
        count = (count + 1) // 2
    return count


def line_need_mm(needs_mm: Sequence[float], count: int) -> float:
    """Need of the fullest line with ``count`` bars on each."""
    return max(sum(needs_mm[start : start + count]) for start in range(0, len(needs_mm), count))


def line_counts(needs_mm: Sequence[float], width_mm: float, most: int) -> tuple[int, ...]:
    """How many bars each line has room for: phrases of ``most`` bars stay whole, or are halved where they are full.

    The last line may hold fewer bars than its number says.
    """
    counts: list[int] = []
    for start in range(0, len(needs_mm), most):
        phrase = needs_mm[start : start + most]
        count = bars_that_fit(phrase, width_mm, most)
        counts += [count] * -(-len(phrase) // count)
    return tuple(counts)

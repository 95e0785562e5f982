"""Cells: phrases that belong together with the rest that follows, and laying them over the bars of a loop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from phrasewright.compose.material import Material
from phrasewright.melody.count_words import count_of
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.transform import diminish
from phrasewright.score.model import Note
from phrasewright.theory.count import Count
from phrasewright.theory.meter import Meter


@dataclass(frozen=True, slots=True)
class Spoken:
    """A phrase of a cell. bar: from the start of the cell; label: printed over its first note."""

    bar: int
    label: str
    phrase: Phrase


@dataclass(frozen=True, slots=True)
class Cell:
    """Phrases in order, and all bars they take with their rest. Phrases may share a bar but never overlap."""

    phrases: tuple[Spoken, ...]
    bars: int


def cell(material: Material, phrases: Sequence[Spoken], *, least_rest_bars: int = 0) -> Cell:
    """A cell with the rest that the material's space asks for, and at least ``least_rest_bars``."""
    content = max(spoken.bar + spoken.phrase.count.bars for spoken in phrases)
    sounding = sum((spoken.phrase.count.sounding for spoken in phrases), Fraction(0))
    rest = max(least_rest_bars, material.rest_bars(sounding, content))
    return Cell(tuple(phrases), content + rest)


def lay(cells: Sequence[Cell], bars: int, meter: Meter) -> tuple[Note, ...]:
    """The cells one after another, again and again, as long as a whole one fits into ``bars`` bars."""
    notes: list[Note] = []
    bar, turn = 0, 0
    while cells and bar + cells[turn % len(cells)].bars <= bars:
        here = cells[turn % len(cells)]
        for spoken in here.phrases:
            notes += spoken.phrase.notes((bar + spoken.bar) * meter.bar, label=spoken.label)
        bar, turn = bar + here.bars, turn + 1
    return tuple(notes)


def joined_step(notes: int, meter: Meter) -> Fraction:
    """The even step for a joined line, in quarter notes: the unit where it is short or the bar holds it, else half."""
    return meter.unit if meter.lower >= 8 or notes < meter.upper else meter.unit / 2


def even_counts(sizes: Sequence[int], meter: Meter, step: Fraction) -> tuple[Count, ...]:
    """Counts for motifs joined into one line of even notes from beat one, each count spanning the bars of the line.

    step: time from note to note, quarter notes: the meter's unit, its half or its quarter.
    """
    bars = ceil(sum(sizes) * step / meter.bar)
    counts, index = [], 0
    for size in sizes:
        count = count_of([(step * place, step) for place in range(index, index + size)], meter, bars)
        if count is None:
            raise ValueError(f"steps of {step} quarter notes cannot be counted in {meter}")
        counts.append(count)
        index += size
    return tuple(counts)


def twice_as_fast(material: Material, motif: Motif) -> tuple[Phrase, Phrase]:
    """The motif with its first count that can be spoken twice as fast, and that; even notes where none can."""
    for count in material.counts_for(motif):
        slow = Phrase(motif, count)
        fast = diminish(slow)
        if fast is not None:
            return slow, Phrase(motif, fast.count)
    unit, size = material.meter.unit, len(motif.steps)
    even = [even_counts((size,), material.meter, step)[0] for step in (unit, unit / 2)]
    return Phrase(motif, even[0]), Phrase(motif, even[1])

"""Words over a bar that say how it is played: changes of tempo, slowing down, stops of the band. Common practice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.score.model import Measure

A_TEMPO, SLOWER, STOP = "a tempo", "rit.", "stop"
MOST_DIRECTIONS = 100  # over one bar: it holds fewer chords than that


@dataclass(frozen=True, slots=True)
class Direction:
    """at: quarter notes from the score start; pace: of the tempo from here on, None = as it was."""

    at: Fraction
    words: str
    pace: Fraction | None = None


def directions_in(measures: Sequence[Measure], index: int) -> Iterator[Direction]:
    """What is said over one bar, in order."""
    measure = measures[index]
    before = measures[index - 1] if index else None
    if measure.pace != (before.pace if before else 1):
        yield Direction(measure.onset, tempo_words(measure.pace), measure.pace)
    elif before and before.slows and not measure.slows:
        yield Direction(measure.onset, A_TEMPO, measure.pace)
    if measure.slows:
        yield Direction(measure.onset, SLOWER)
    for span in measure.chords:
        if span.stop:
            yield Direction(span.onset, STOP)


def tempo_words(pace: Fraction) -> str:
    """``80 % of the tempo``, or that it is the usual one again."""
    return A_TEMPO if pace == 1 else f"{float(100 * pace):g} % of the tempo"

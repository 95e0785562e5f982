"""Stops: chords that the whole band strikes short, to be silent until the next one. Common practice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from phrasewright.score.model import ChordSpan, Drum, Hit, Measure

STOP_LENGTH = Fraction(1, 2)  # quarter notes that a stopped chord sounds
STOP_DRUMS = ((Drum.KICK, 0.85), (Drum.SNARE, 0.8), (Drum.CLOSED_HAT, 0.6))


def is_silent(measure: Measure, onset: Fraction) -> bool:
    """True where the band waits: from a stop to the next chord, its own stroke included."""
    return any(span.stop and span.onset <= onset < span.end for span in measure.chords)


def length_of(span: ChordSpan, wished: Fraction) -> Fraction:
    """How long a chord's stroke sounds: as wished, or a stop's length."""
    return min(wished, STOP_LENGTH) if span.stop else wished


def with_stops(hits: Iterable[Hit], measure: Measure) -> Iterator[Hit]:
    """The drums of a bar with its stops struck and everything silent after them."""
    for hit in hits:
        if not is_silent(measure, hit.onset):
            yield hit
    for span in measure.chords:
        if span.stop:
            for drum, velocity in STOP_DRUMS:
                yield Hit(onset=span.onset, drum=drum, velocity=velocity)

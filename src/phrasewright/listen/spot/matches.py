"""Where variants of motifs lie in a line, note for note or with one wrong note.

A wrong note may stand for a right one, come between two, or, in motifs of four notes and more, be left out. How sure a
match is, is counted in bits: the surprise of its right notes by chance, and of a phrase that begins or ends just there,
less the price of its change. ``matches`` gives every variant that lies there note for note, and the others only where
they are so surprising that chance could bring ``FALSE_PER_NOTE`` of them a note or fewer (``believed``). Three notes
with a wrong one among them are no more than two notes: they must be a phrase of their own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, log2

import numpy as np

from phrasewright.listen.spot.chance import Chance
from phrasewright.listen.spot.line import Bools, Ints, Line
from phrasewright.listen.spot.variants import Variant

FALSE_PER_NOTE = 0.005  # matches by chance that are let pass, over the notes that no motif explains
LEAST_UNEXPLAINED = 0.05  # share of such notes that is always reckoned with
FEWEST_TO_ALTER, FEWEST_TO_DROP = 3, 4
FEWEST_RIGHT = 3  # right notes besides a wrong one in the middle of a phrase
BOTH_BITS = 2.0  # for a wrong note in a motif that was changed as well
DROPPED_BITS = 2.0
DISTANCE_BITS = 0.25  # for every semitone between a right note and the one that stands for it
LEAST_EDGE, MOST_EDGE = 0.05, 0.5  # share of notes that begin a phrase, as far as it is believed


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A variant at its place in a line. notes: indices into the line; wrong: 1 when one of its notes is not right.

    bits: how much surer it is than it needs to be where nothing else explains the line; worth: bits of the line that it
    explains.
    """

    variant: Variant
    notes: tuple[int, ...]
    wrong: int
    bits: float
    worth: float

    @property
    def stands_alone(self) -> bool:
        """True when its notes are proof enough."""
        return not self.wrong and self.variant.is_plain

    @property
    def first(self) -> int:
        """Its first note in the line."""
        return self.notes[0]

    @property
    def last(self) -> int:
        """Its last note in the line."""
        return self.notes[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shape:
    """One way a variant may lie in a line. pitches_midi: what is asked of each note there, None = anything.

    kept: which of these notes make the motif; right_midi: the pitch that a wrong note stands for.
    """

    variant: Variant
    pitches_midi: tuple[int | None, ...]
    kept: tuple[int, ...]
    wrong: int = 0
    price_bits: float = 0.0
    right_midi: int | None = None


def believed(found: Sequence[Match], explained: float) -> list[Match]:
    """Those that are more than chance, where motifs are known to explain so much of the line, 0..1."""
    least = log2(max(LEAST_UNEXPLAINED, 1.0 - explained))
    return [match for match in found if match.stands_alone or match.bits >= least]


def matches(line: Line, variants: Sequence[Variant], chance: Chance, *, pool: int) -> list[Match]:
    """All matches worth a thought. pool: on how many pitches a motif may begin."""
    need = log2(len({variant.letter for variant in variants})) - log2(FALSE_PER_NOTE)
    edge = _Edges(line)
    found: list[Match] = []
    for shape in (shape for variant in variants for shape in _shapes(variant)):
        own = log2(pool) + chance.path_bits(shape.pitches_midi) - shape.price_bits - shape.variant.price_bits - need
        least = log2(LEAST_UNEXPLAINED) if shape.wrong or not shape.variant.is_plain else -inf
        if own + edge.most_bits >= least:
            found += _matches_of(shape, line, edge, own, least, chance)
    return found


def _shapes(variant: Variant) -> Iterator[_Shape]:
    pitches = variant.pitches_midi
    size = len(pitches)
    slip_bits = BOTH_BITS if variant.changes else 0.0
    every = tuple(range(size))
    yield _Shape(variant=variant, pitches_midi=pitches, kept=every)
    if size < FEWEST_TO_ALTER or not variant.is_plain:
        return
    for at in every:
        free = (*pitches[:at], None, *pitches[at + 1 :])
        yield _Shape(
            variant=variant,
            pitches_midi=free,
            kept=every,
            wrong=1,
            price_bits=slip_bits + log2(size),
            right_midi=pitches[at],
        )
    for at in range(1, size):
        between = (*pitches[:at], None, *pitches[at:])
        kept = (*range(at), *range(at + 1, size + 1))
        yield _Shape(
            variant=variant, pitches_midi=between, kept=kept, wrong=1, price_bits=slip_bits + log2(size - 1) + 1.0
        )
    if size >= FEWEST_TO_DROP:
        for at in range(1, size - 1):
            fewer = (*pitches[:at], *pitches[at + 1 :])
            yield _Shape(
                variant=variant,
                pitches_midi=fewer,
                kept=every[:-1],
                wrong=1,
                price_bits=slip_bits + log2(size - 2) + DROPPED_BITS,
            )


class _Edges:
    """How much the edges of phrases say, in bits."""

    def __init__(self, line: Line) -> None:
        share = float(np.mean(line.begins_phrase)) if len(line) else MOST_EDGE
        self.bits = -log2(min(MOST_EDGE, max(LEAST_EDGE, share)))
        self.most_bits = 2 * self.bits
        self._begins, self._ends = line.begins_phrase, line.ends_phrase

    def at(self, first: int, last: int) -> int:
        """How many edges a match from one note of the line to another has, 0..2."""
        return int(self._begins[first]) + int(self._ends[last])


def _matches_of(
    shape: _Shape, line: Line, edge: _Edges, own_bits: float, least_bits: float, chance: Chance
) -> Iterator[Match]:
    length = len(shape.pitches_midi)
    explains = chance.path_bits(shape.variant.pitches_midi) + 1.0 - shape.price_bits - shape.variant.price_bits
    alone = shape.wrong == 1 and length - (None in shape.pitches_midi) < FEWEST_RIGHT
    for first in np.flatnonzero(_places(shape, line)).tolist():
        far = _distance(shape, line.pitch_midi[first : first + length])
        edges = edge.at(first, first + length - 1)
        bits = own_bits + edge.bits * edges - DISTANCE_BITS * far
        if bits >= least_bits and (edges == 2 or not alone):
            notes = tuple(first + kept for kept in shape.kept)
            worth = max(explains - 4.0 * shape.wrong - DISTANCE_BITS * far, 0.1)
            yield Match(variant=shape.variant, notes=notes, wrong=shape.wrong, bits=bits, worth=worth)


def _places(shape: _Shape, line: Line) -> Bools:
    """Whether a shape lies at each note that has enough notes from it on; a gap is filled by a pitch of its own."""
    length = len(shape.pitches_midi)
    held = line.within_phrase(length)
    if not len(held):
        return held
    held = held.copy()
    for at, pitch in enumerate(shape.pitches_midi):
        heard = line.pitch_midi[at : len(line) - length + 1 + at]
        if pitch is not None:
            held &= heard == pitch
        elif shape.right_midi is not None:
            held &= heard != shape.right_midi
    return held


def _distance(shape: _Shape, heard_midi: Ints) -> int:
    if shape.right_midi is None:
        return 0
    at = shape.pitches_midi.index(None)
    return int(abs(heard_midi[at] - shape.right_midi))

"""What a shelf motif may have become in a take: itself, another octave, reversed, moved along the scale.

Each variant is a row of pitches. Its price in bits says how many such variants one would have to try: a motif that
needs a change must be that much more surprising to be believed. Two notes turned round are any two notes, so that
only motifs of three notes and more are looked for reversed or moved.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log2

from phrasewright.listen.spotted import Change
from phrasewright.melody.motif import Motif
from phrasewright.melody.shelf import Shelf
from phrasewright.melody.transform import sequences
from phrasewright.units import SEMITONES_PER_OCTAVE

OCTAVES = (-2, -1, 1, 2)
OCTAVE_BITS = log2(len(OCTAVES))
REVERSED_BITS = 1.0
MOVED_BITS = 3.0  # besides the places of the scale: any piece of a scale looks like a motif moved
FEWEST_TO_TURN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A motif as it may be played. price_bits: of its changes; octaves: how many up."""

    letter: str
    pitches_midi: tuple[int, ...]
    changes: tuple[Change, ...] = ()
    octaves: int = 0
    price_bits: float = 0.0

    @property
    def is_plain(self) -> bool:
        """True when its notes alone make it a motif: nothing, one octave or one turn away from the shelf."""
        return len(self.changes) <= 1 and Change.MOVED not in self.changes


def variants_of(shelf: Shelf) -> tuple[Variant, ...]:
    """Every variant of every motif; where two have the same pitches, only the one that needs less."""
    found = [variant for item in shelf.items for variant in _variants(item.letter, item.motif)]
    first: dict[tuple[int, ...], Variant] = {}
    for variant in sorted(found, key=lambda one: (one.price_bits, one.letter)):
        first.setdefault(variant.pitches_midi, variant)
    return tuple(first.values())


def _variants(letter: str, motif: Motif) -> Iterator[Variant]:
    own = _pitches(motif)
    yield from _octaves(Variant(letter=letter, pitches_midi=own))
    if len(own) < FEWEST_TO_TURN:
        return
    turned = Variant(letter=letter, pitches_midi=own[::-1], changes=(Change.REVERSED,), price_bits=REVERSED_BITS)
    yield from _octaves(turned)
    places = sequences(motif)
    for place in places:
        yield Variant(
            letter=letter,
            pitches_midi=_pitches(place),
            changes=(Change.MOVED,),
            price_bits=MOVED_BITS + log2(len(places)),
        )


def _octaves(variant: Variant) -> Iterator[Variant]:
    yield variant
    for octaves in OCTAVES:
        yield Variant(
            letter=variant.letter,
            pitches_midi=tuple(pitch + SEMITONES_PER_OCTAVE * octaves for pitch in variant.pitches_midi),
            changes=(Change.OCTAVE, *variant.changes),
            octaves=octaves,
            price_bits=variant.price_bits + OCTAVE_BITS,
        )


def _pitches(motif: Motif) -> tuple[int, ...]:
    return tuple(note.pitch.midi for note in motif.notes)

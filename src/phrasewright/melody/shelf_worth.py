"""What a motif is worth to a shelf: on its own, and beside what the shelf has already.

On its own: how well it sits on the chords (bits), with a premium for a chord tone to land on, less what it costs hand
and ear. A shelf is chosen among thousands of motifs of one position, so whatever belongs to a note or to a pair of
notes is worked out once. The exchange rates are our design.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from phrasewright.melody.ease import Fretted, at_the_nut, stretch_mm, string_changes
from phrasewright.melody.fit import LAST, OFF_BEAT, note_fit
from phrasewright.melody.motif import Motif
from phrasewright.melody.priors import Idiom
from phrasewright.neck.place import Position
from phrasewright.theory.chord import Chord

STRING_CHANGE_BITS, STRETCH_BITS_PER_MM, LEAP_BITS, TWO_CYCLES_BITS = 0.1, 0.002, 0.05, 0.3
REVISIT_BITS = 0.5  # a note come back to: trills and see-saws teach little
LANDING_SHARE = 0.5  # of the bits of the chord tone it lands on best

Trait = tuple[str, object]  # what is shared, and its value
TRAIT_BITS = {  # what each motif on the shelf with the same trait takes off
    "size": 1.0,
    "contour": 0.5,
    "cycles": 0.7,
    "landing": 0.25,
    "start": 0.2,
    "moves": 1.5,  # a transposed copy
    "notes": 0.6,
}


class Worths:
    """The worth of any motif of one position over some chords, in bits. A motif is given by its steps."""

    def __init__(self, position: Position, chords: Sequence[Chord], idiom: Idiom) -> None:
        notes, scale = position.notes, position.scale
        line = [Fretted(note.place, note.finger) for note in notes]
        fits = [[note_fit(note.pitch, chord, None, scale=scale, idiom=idiom) for chord in chords] for note in notes]
        self._bits = [sum(fit.bits for fit in row) / len(row) if row else 0.0 for row in fits]
        self._landing = [max((fit.bits for fit in row if fit.role.is_chord_tone), default=0.0) for row in fits]
        self._cycles = [note.cycle for note in notes]
        self._pressed = [note.finger != 0 for note in notes]
        self._strings = [[string_changes((a, b)) for b in line] for a in line]
        widen = at_the_nut(position)
        self._stretch_mm = [[stretch_mm((a, b), position.instrument) * widen for b in line] for a in line]

    def worth(self, steps: Sequence[int]) -> float:
        """Its fit over the chords, plus its landing, less what it costs the hand."""
        *before, last = steps
        total = OFF_BEAT * sum([self._bits[step] for step in before]) + LAST * self._bits[last]
        bits = total / (OFF_BEAT * len(before) + LAST)
        return bits + LANDING_SHARE * self._landing[last] - self.hand_bits(steps)

    def hand_bits(self, steps: Sequence[int]) -> float:
        """What it costs hand and ear: strings crossed, stretch, leaps, two cycles, notes come back to."""
        pressed = [step for step in steps if self._pressed[step]]
        strings = sum([self._strings[a][b] for a, b in pairwise(steps)])
        widest_mm = max([self._stretch_mm[a][b] for a, b in pairwise(pressed)], default=0.0)
        leaps = sum([abs(b - a) - 1 for a, b in pairwise(steps) if a != b])
        crossing = TWO_CYCLES_BITS if len({self._cycles[step] for step in steps}) > 1 else 0.0
        revisits = len(steps) - len(set(steps))
        hand = STRING_CHANGE_BITS * strings + STRETCH_BITS_PER_MM * widest_mm
        return hand + LEAP_BITS * leaps + crossing + REVISIT_BITS * revisits


def common_traits(motif: Motif) -> tuple[Trait, ...]:
    """What a motif shares with many: size, shape, cycles and landing degree."""
    landing = motif.position.notes[motif.steps[-1]].degree
    return (("size", len(motif.steps)), ("contour", motif.contour), ("cycles", motif.cycles), ("landing", landing))


def own_traits(motif: Motif) -> tuple[Trait, ...]:
    """What it shares with few: its first note, its moves and its notes."""
    return (("start", motif.steps[0]), ("moves", motif.moves), ("notes", frozenset(motif.steps)))


def sameness_bits(traits: Sequence[Trait], seen: Counter[Trait]) -> float:
    """How much the shelf has of these already; never less when the shelf grows."""
    return sum([TRAIT_BITS[trait[0]] * seen[trait] for trait in traits])

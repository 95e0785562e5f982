"""The shelf: the motifs a lesson offers, chosen with variety or written out by the teacher.

Choosing is greedy and deterministic. Each turn takes the candidate with the highest worth (``shelf_worth``): how well
it sits on the chords (bits), how easily it lies under the hand, less what the shelf has already: its size, shape,
cycle, landing degree, its exact shape elsewhere in the position (a transposed copy), its notes in another order. The
seed only breaks near-ties. Letters follow the order of playing: short before long, easy before hard.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heapreplace
from math import inf
from random import Random

from phrasewright.errors import PhrasewrightError
from phrasewright.melody.enumerate import motifs_of
from phrasewright.melody.fit import Fit, fit_motif
from phrasewright.melody.motif import Contour, Motif
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf_words import reason_sentence
from phrasewright.melody.shelf_worth import Trait, Worths, common_traits, own_traits, sameness_bits
from phrasewright.neck.place import Position
from phrasewright.theory.chord import Chord

SEED_BITS = 0.15
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class ShelfError(PhrasewrightError):
    """A shelf that cannot be filled as wished."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfMotif:
    """A motif on the shelf. letter: its name; why: one sentence; best: its chord and fit, None without chords."""

    letter: str
    motif: Motif
    why: str
    best: tuple[Chord, Fit] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The motifs of a lesson in order of letters, at least one, all of one position."""

    position: Position
    items: tuple[ShelfMotif, ...]

    def __post_init__(self) -> None:
        if not self.items:
            raise ValueError("a shelf needs at least one motif")

    @property
    def sizes(self) -> tuple[int, ...]:
        """Sizes present, rising."""
        return tuple(sorted({len(item.motif.steps) for item in self.items}))

    def of_size(self, size: int) -> tuple[ShelfMotif, ...]:
        """The motifs of one size."""
        return tuple(item for item in self.items if len(item.motif.steps) == size)

    def __getitem__(self, letter: str) -> ShelfMotif:
        """The motif of a letter. Raises KeyError when there is none."""
        for item in self.items:
            if item.letter == letter:
                return item
        raise KeyError(letter)


def choose_shelf(
    position: Position,
    *,
    sizes: Collection[int] = (3, 4),
    contours: Collection[Contour] | None = None,
    cycles: Collection[int] | None = None,
    how_many: int = 6,
    chords: Sequence[Chord] = (),
    idiom: Idiom = Idiom.JAZZ,
    largest_step: int = 1,
    seed: int = 0,
) -> Shelf:
    """A varied shelf of up to ``how_many`` motifs (fewer where the position has fewer), in order of playing.

    contours None = any shape; cycles None = all; chords: those of the chart. Raises ShelfError when nothing fits.
    """
    motifs = choose_motifs(
        position,
        sizes=sizes,
        contours=contours,
        cycles=cycles,
        how_many=how_many,
        chords=chords,
        idiom=idiom,
        largest_step=largest_step,
        seed=seed,
    )
    return shelf_of(position, motifs, chords=chords, idiom=idiom)


def choose_motifs(
    position: Position,
    *,
    sizes: Collection[int] = (3, 4),
    contours: Collection[Contour] | None = None,
    cycles: Collection[int] | None = None,
    how_many: int = 6,
    chords: Sequence[Chord] = (),
    idiom: Idiom = Idiom.JAZZ,
    largest_step: int = 1,
    seed: int = 0,
    beside: Sequence[Motif] = (),
    left_out: Sequence[Motif] = (),
) -> tuple[Motif, ...]:
    """Up to ``how_many`` motifs that add variety to those ``beside`` them (a teacher's own), in order of playing.

    As ``choose_shelf``; none of ``beside`` and ``left_out`` is chosen, so that none is left where they are all there
    is. Raises ShelfError when nothing fits.
    """
    found = list(motifs_of(position, sizes=sizes, largest_step=largest_step, contours=contours, cycles=cycles))
    if not found:
        raise ShelfError(
            f"{position.name} has no motif of these sizes, shapes and cycles.",
            hint="Allow more shapes or cycles, or smaller sizes.",
        )
    taken = {motif.steps for motif in (*beside, *left_out) if motif.position == position}
    worths = Worths(position, chords, idiom)
    rng = Random(f"shelf {seed}")
    fresh = (motif for motif in found if motif.steps not in taken)
    rated = [(worths.worth(motif.steps) + SEED_BITS * rng.random(), motif) for motif in fresh]
    seen = Counter(trait for motif in beside for trait in (*common_traits(motif), *own_traits(motif)))
    chosen = _most_varied(rated, how_many, seen)
    return tuple(
        sorted(chosen, key=lambda m: (len(m.steps), m.cycles[0], round(worths.hand_bits(m.steps), 6), m.steps))
    )


def _most_varied(rated: Sequence[tuple[float, Motif]], how_many: int, seen: Counter[Trait]) -> list[Motif]:
    """Up to ``how_many`` motifs, each time the one worth most beside those ``seen`` and chosen before.

    Motifs with the same common traits wait in one heap, by their price (own sameness less worth) as last reckoned. A
    price can only rise as the shelf grows, so one that is reckoned anew and stays on top is the lowest of its heap.
    """
    heaps: dict[tuple[Trait, ...], list[tuple[float, int]]] = {}
    for number, (worth, motif) in enumerate(rated):
        heaps.setdefault(common_traits(motif), []).append((-worth, number))
    for heap in heaps.values():
        heapify(heap)
    chosen: list[Motif] = []
    for _ in range(min(how_many, len(rated))):
        best: tuple[float, int] = (inf, 0)
        for common, heap in heaps.items():
            shared = sameness_bits(common, seen)
            while heap and heap[0][0] + shared < best[0]:
                last, number = heap[0]
                price = sameness_bits(own_traits(rated[number][1]), seen) - rated[number][0]
                if price > last:
                    heapreplace(heap, (price, number))
                else:
                    best, home = (price + shared, number), heap
        heappop(home)
        motif = rated[best[1]][1]
        chosen.append(motif)
        seen.update((*common_traits(motif), *own_traits(motif)))
    return chosen


def shelf_of(
    position: Position, motifs: Sequence[Motif], *, chords: Sequence[Chord] = (), idiom: Idiom = Idiom.JAZZ
) -> Shelf:
    """A shelf of given motifs in their order, lettered A, B, C ... Raises ShelfError for none or more than 26."""
    if not 1 <= len(motifs) <= len(LETTERS):
        raise ShelfError(f"A shelf holds 1 to {len(LETTERS)} motifs, not {len(motifs)}.")
    items = []
    for letter, motif in zip(LETTERS, motifs, strict=False):
        best = best_chord(motif, chords, idiom)
        why = reason_sentence(letter, motif, motifs, best)
        items.append(ShelfMotif(letter=letter, motif=motif, why=why, best=best))
    return Shelf(position=position, items=tuple(items))


def best_chord(motif: Motif, chords: Sequence[Chord], idiom: Idiom = Idiom.JAZZ) -> tuple[Chord, Fit] | None:
    """The chord a motif sits on best: a chord tone to land on first, then the most bits; None without chords."""
    fits = [(chord, fit_motif(motif, chord, idiom=idiom)) for chord in chords]
    return max(fits, key=lambda pair: (pair[1].landing.role.is_chord_tone, pair[1].bits), default=None)

"""The shelf: the motifs a lesson offers, chosen with variety or written out by the teacher.

Choosing is greedy and deterministic. Each turn takes the candidate with the highest worth: how well it sits on the
chords (bits), how easily it lies under the hand, less what the shelf has already: its size, shape, cycle, landing
degree, its exact shape elsewhere in the position (a transposed copy), its notes in another order. The seed only
breaks near-ties. Letters follow the order of playing: short before long, easy before hard. The exchange rates are
our design.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from random import Random

from phrasewright.errors import PhrasewrightError
from phrasewright.melody.ease import Fretted, stretch_mm, string_changes
from phrasewright.melody.enumerate import motifs_of
from phrasewright.melody.fit import Fit, fit_motif
from phrasewright.melody.motif import Contour, Motif
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf_words import reason_sentence
from phrasewright.neck.place import Position
from phrasewright.theory.chord import Chord

STRING_CHANGE_BITS, STRETCH_BITS_PER_MM, LEAP_BITS, TWO_CYCLES_BITS = 0.1, 0.002, 0.05, 0.3
REVISIT_BITS = 0.5  # a note come back to: trills and see-saws teach little
SAME_SIZE, SAME_CONTOUR, SAME_CYCLE, SAME_LANDING, SAME_START = 1.0, 0.5, 0.7, 0.25, 0.2
TRANSPOSED_COPY, SAME_NOTES = 1.5, 0.6
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
) -> tuple[Motif, ...]:
    """Up to ``how_many`` motifs that add variety to those ``beside`` them (a teacher's own), in order of playing.

    As ``choose_shelf``; none of ``beside`` comes again. Raises ShelfError when nothing fits.
    """
    found = motifs_of(position, sizes=sizes, largest_step=largest_step, contours=contours, cycles=cycles)
    rng = Random(f"shelf {seed}")
    pool = [_Candidate.of(motif, chords, idiom, rng.random()) for motif in found if motif not in beside]
    if not pool:
        raise ShelfError(
            f"{position.name} has no motif of these sizes, shapes and cycles.",
            hint="Allow more shapes or cycles, or smaller sizes.",
        )
    chosen: list[_Candidate] = []
    seen = Counter(trait for motif in beside for trait in _traits(motif))
    while pool and len(chosen) < how_many:
        best = max(pool, key=lambda candidate: candidate.worth - _cost(candidate, seen))
        pool.remove(best)
        chosen.append(best)
        seen.update(best.traits)
    chosen.sort(key=lambda c: (len(c.motif.steps), c.motif.cycles[0], c.hand, c.motif.steps))
    return tuple(candidate.motif for candidate in chosen)


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Candidate:
    motif: Motif
    worth: float  # bits
    hand: float  # bits lost to hand and ear
    traits: tuple[_Trait, ...]

    @classmethod
    def of(cls, motif: Motif, chords: Sequence[Chord], idiom: Idiom, luck: float) -> _Candidate:
        """Its worth before looking at the shelf; luck: 0..1, from the seed."""
        fits = [fit_motif(motif, chord, idiom=idiom) for chord in chords]
        bits = sum(fit.bits for fit in fits) / len(fits) if fits else 0.0
        landing = max((fit.landing.bits for fit in fits if fit.landing.role.is_chord_tone), default=0.0)
        hand = _hand_bits(motif)
        worth = bits + landing / 2 - hand + SEED_BITS * luck
        return cls(motif=motif, worth=worth, hand=hand, traits=_traits(motif))


_Trait = tuple[str, object]  # what is shared, and its value
_TRAIT_BITS = {
    "size": SAME_SIZE,
    "contour": SAME_CONTOUR,
    "cycles": SAME_CYCLE,
    "landing": SAME_LANDING,
    "start": SAME_START,
    "shape": TRANSPOSED_COPY,
    "notes": SAME_NOTES,
}


def _traits(motif: Motif) -> tuple[_Trait, ...]:
    """What a motif may share with others on the shelf."""
    return (
        ("size", len(motif.steps)),
        ("contour", motif.contour),
        ("cycles", motif.cycles),
        ("landing", str(motif.notes[-1].degree)),
        ("start", motif.steps[0]),
        ("shape", motif.moves),
        ("notes", frozenset(motif.steps)),
    )


def _cost(candidate: _Candidate, seen: Counter[_Trait]) -> float:
    """How much the shelf has of this already, in bits."""
    return sum(_TRAIT_BITS[trait[0]] * seen[trait] for trait in candidate.traits)


def _hand_bits(motif: Motif) -> float:
    """What a motif costs hand and ear, in bits: strings crossed, stretch, leaps, two cycles, notes come back to."""
    line = [Fretted(note.place, note.finger) for note in motif.notes]
    leaps = sum(abs(move) - 1 for move in motif.moves if move)
    crossing = TWO_CYCLES_BITS if len(motif.cycles) > 1 else 0.0
    stretch = STRETCH_BITS_PER_MM * stretch_mm(line, motif.position.instrument)
    revisits = len(motif.steps) - len(set(motif.steps))
    return STRING_CHANGE_BITS * string_changes(line) + stretch + LEAP_BITS * leaps + crossing + REVISIT_BITS * revisits

"""The rungs of the ladder that are played as written: cells of shelf motifs over the chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from phrasewright.compose.cells import Cell, Spoken, cell, even_counts, joined_step, twice_as_fast
from phrasewright.compose.material import Material
from phrasewright.melody.join import join_bits, line_in
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.shelf import ShelfMotif
from phrasewright.melody.transform import fragment

TWICE_EACH_UP_TO = 4  # motifs; larger shelves play each once a round


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """Cells to lay over the loop, with title and words."""

    title: str
    words: str
    cells: tuple[Cell, ...]


def each_alone(material: Material) -> Rung:
    """Every motif by itself with at least a bar of rest after it."""
    items = material.shelf.items
    times = 2 if len(items) <= TWICE_EACH_UP_TO else 1
    cells = [
        cell(material, [Spoken(0, item.letter, _phrase(material, item, 0))], least_rest_bars=1)
        for item in items
        for _ in range(times)
    ]
    how = "twice" if times == 2 else "once"
    words = (
        f"Play {list_words(items)} by {'itself' if len(items) == 1 else 'themselves'}, {how} each. "
        "Leave the bar after it empty and hear the note die away."
    )
    return Rung(title="One motif, then rest", words=words, cells=tuple(cells))


def other_order(material: Material) -> Rung:
    """The motifs in a drawn order, each with its next count."""
    items = list(material.shelf.items)
    drawn = items
    rng = Random(f"order {material.seed}")
    while len(items) > 1 and drawn == items:
        drawn = rng.sample(items, len(items))
    cells = [cell(material, [Spoken(0, item.letter, _phrase(material, item, 1))]) for item in drawn]
    words = (
        f"The same motifs in the order {spaced_letters(drawn)}, some with another count. "
        "Say the letter before you play it."
    )
    return Rung(title="Another order", words=words, cells=tuple(cells))


def longer(material: Material) -> Rung:
    """Two motifs joined into one even line, each with the one that follows it most smoothly."""
    pairs = _smooth_pairs(material)
    cells = []
    for first, second in pairs:
        sizes = (len(first.motif.steps), len(second.motif.steps))
        counts = even_counts(sizes, material.meter, joined_step(sum(sizes), material.meter))
        phrases = [
            Spoken(0, item.letter, Phrase(item.motif, count))
            for item, count in zip((first, second), counts, strict=True)
        ]
        cells.append(cell(material, phrases))
    named = ", ".join(f"{first.letter} into {second.letter}" for first, second in pairs)
    words = f"Two motifs make one longer line: {named}. Do not stop where they meet; rest after the second."
    return Rung(title="Two joined", words=words, cells=tuple(cells))


def faster(material: Material) -> Rung:
    """Every motif as written, then twice as fast."""
    cells = []
    for item in material.shelf.items:
        slow, fast = twice_as_fast(material, item.motif)
        cells.append(cell(material, [Spoken(0, item.letter, slow), Spoken(slow.count.bars, item.letter, fast)]))
    words = (
        f"Play {list_words(material.shelf.items)} as before, then twice as fast from the next bar line. "
        "Keep the hand as small and calm as in the slow bar."
    )
    return Rung(title="Twice as fast", words=words, cells=tuple(cells))


def long_then_short(material: Material) -> Rung:
    """A long motif twice, then a short one and its rest."""
    pairs = _long_and_short(material)
    cells = []
    for long, short in pairs:
        first = _phrase(material, long, 0)
        answer = _phrase(material, short, 0)
        phrases = [Spoken(0, long.letter, first), Spoken(first.count.bars, long.letter, first)]
        cells.append(cell(material, [*phrases, Spoken(2 * first.count.bars, short.letter, answer)]))
    named = ", ".join(f"{long.letter} {long.letter} {short.letter}" for long, short in pairs)
    words = f"Say the long one twice and answer with the short one: {named}. Wait until the rest is over."
    cut = [short for _, short in pairs if short.letter.endswith("′")]
    if cut:
        words += f" {list_words(cut)} {'is' if len(cut) == 1 else 'are'} the first two notes only."
    return Rung(title="Long, long, short", words=words, cells=tuple(cells))


def list_words(items: Sequence[ShelfMotif]) -> str:
    """``A, B and C``."""
    letters = [item.letter for item in items]
    return letters[0] if len(letters) == 1 else f"{', '.join(letters[:-1])} and {letters[-1]}"


def spaced_letters(items: Sequence[ShelfMotif]) -> str:
    """``C A B``."""
    return " ".join(item.letter for item in items)


def _phrase(material: Material, item: ShelfMotif, turn: int) -> Phrase:
    """The motif with one of its counts; ``turn`` picks among them."""
    counts = material.counts_for(item.motif)
    return Phrase(item.motif, counts[turn % len(counts)])


def _smooth_pairs(material: Material) -> list[tuple[ShelfMotif, ShelfMotif]]:
    """Each motif with the other that joins it best; a pair is used once, either way round."""
    items = material.shelf.items
    if len(items) == 1:
        return [(items[0], items[0])]
    model = line_in(material.position)
    pairs: dict[frozenset[str], tuple[ShelfMotif, ShelfMotif]] = {}
    for item in items:
        line = [note.pitch.midi for note in item.motif.notes]
        others = (other for other in items if other is not item)
        best = min(others, key=lambda other: join_bits(line, other.motif.notes[0].pitch.midi, model))
        pairs.setdefault(frozenset((item.letter, best.letter)), (item, best))
    return list(pairs.values())


def _long_and_short(material: Material) -> list[tuple[ShelfMotif, ShelfMotif]]:
    shelf = material.shelf
    longs, shorts = shelf.of_size(shelf.sizes[-1]), shelf.of_size(shelf.sizes[0])
    if len(shelf.sizes) > 1:
        rounds = max(len(longs), len(shorts))
        return [(longs[turn % len(longs)], shorts[turn % len(shorts)]) for turn in range(rounds)]
    if shelf.sizes[0] == 2:
        return [(item, longs[(turn + 1) % len(longs)]) for turn, item in enumerate(longs)]
    return [(item, _shortened(item)) for item in longs]


def _shortened(item: ShelfMotif) -> ShelfMotif:
    """Its first two notes, marked with a prime."""
    return ShelfMotif(
        letter=f"{item.letter}′",
        motif=fragment(item.motif, 0, 2),
        why=f"the first two notes of {item.letter}",
        best=None,
    )

"""Where phrases stand: bars with a phrase and bars that rest.

Bars are cut into slots, each beginning with a phrase and ending in rest, from dense (a phrase in every bar) to sparse
(one in eight). Space is kept in *windows* of four bars: the densest cut is taken in which the usual choice, the mean of
what is on offer, leaves every window silent enough. So short phrases may stand close and long ones ask for rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from phrasewright.compose.material import Material
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.shelf import ShelfMotif
from phrasewright.theory.count import Count

PRIME = "′"  # marks what is made from a motif of the shelf
WINDOW_BARS = 4
_CUTS = ((1, 1, 1, 1), (1, 1, 2), (2, 2), (4,), (8,))  # bars per slot, dense to sparse


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A place for one phrase. bar: its first bar, from 0; bars: with the rest that follows."""

    bar: int
    bars: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A motif of the shelf with a count and the rest that fills its slot."""

    item: ShelfMotif
    phrase: Phrase

    @property
    def letter(self) -> str:
        """The letter of its motif; another ending (``A′``) goes by it too."""
        return self.item.letter.rstrip(PRIME)


def other_endings(candidate: Candidate) -> tuple[Candidate, ...]:
    """The phrase with its last note moved by one or two notes of the position, where that is another line."""
    motif, item = candidate.phrase.motif, candidate.item
    moved = (motif.steps[-1] + move for move in (-2, -1, 1, 2))
    ends = [end for end in moved if 0 <= end < len(motif.position.notes) and end != motif.steps[-2]]
    made = (replace(motif, steps=(*motif.steps[:-1], end)) for end in ends)
    return tuple(
        Candidate(
            item=replace(item, letter=item.letter + PRIME, motif=other, why=f"{item.letter} with another ending"),
            phrase=replace(candidate.phrase, motif=other),
        )
        for other in made
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Neighbouring slots that keep space together.

    slots: their indexes; bar: the window's first, from 0; bars: all up to the next window.
    """

    slots: range
    bar: int
    bars: int


def windows(slots: Sequence[Slot], bars: int) -> tuple[Window, ...]:
    """The slots in windows of at least four bars each; ``bars``: of the whole. What is left over joins the last one."""
    starts = [0] if slots else []
    for index, slot in enumerate(slots):
        if slot.bar - slots[starts[-1]].bar >= WINDOW_BARS and bars - slot.bar >= WINDOW_BARS:
            starts.append(index)
    edges = [0, *(slots[index].bar for index in starts[1:]), bars]
    ends = [*starts[1:], len(slots)]
    return tuple(
        Window(slots=range(start, end), bar=before, bars=edge - before)
        for start, end, before, edge in zip(starts, ends, edges, edges[1:], strict=False)
    )


def plan_slots(material: Material, bars: int) -> tuple[tuple[Slot, tuple[Candidate, ...]], ...]:
    """Slots that fill ``bars`` bars and what may stand in each; a bar too short for every count rests."""
    for cut in _CUTS:
        slots = [(slot, _lengths(material, slot)) for slot in _fill(cut, bars)]
        offers = {lengths: _candidates(material, lengths) for _, lengths in slots}
        even = (offer for lengths, offer in offers.items() if set(lengths) == {material.meter.bar})
        filled = [(slot, lengths) for slot, lengths in slots if offers[lengths]]
        usual = {lengths: _usual_sounding(offers[lengths]) for _, lengths in filled}
        if all(even) and all(
            sum(usual[filled[index][1]] for index in window.slots)
            <= (1 - material.space) * material.length(window.bar, window.bars)
            for window in windows([slot for slot, _ in filled], bars)
        ):
            return tuple((slot, offers[lengths]) for slot, lengths in filled)
    sparse = {lengths: _sparse(material, lengths) for _, lengths in slots}
    return tuple((slot, sparse[lengths]) for slot, lengths in slots if sparse[lengths])


def _lengths(material: Material, slot: Slot) -> tuple[Fraction, ...]:
    """How long each bar of a slot is: slots with the same have the same on offer."""
    bars = material.chart.bars
    return tuple(bars[bar % len(bars)].length for bar in range(slot.bar, slot.bar + slot.bars))


def _usual_sounding(offer: Sequence[Candidate]) -> Fraction:
    return sum((candidate.phrase.count.sounding for candidate in offer), Fraction(0)) / len(offer)


def _fill(cut: Sequence[int], bars: int) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    bar = 0
    while bar < bars:
        length = min(cut[len(slots) % len(cut)], bars - bar)
        slots.append(Slot(bar=bar, bars=length))
        bar += length
    return tuple(slots)


def _candidates(material: Material, lengths: tuple[Fraction, ...]) -> tuple[Candidate, ...]:
    return tuple(
        Candidate(item=item, phrase=Phrase(item.motif, count, len(lengths) - count.bars))
        for item in material.shelf.items
        for count in material.counts_for(item.motif)
        if _fits(count, lengths)
    )


def _fits(count: Count, lengths: tuple[Fraction, ...]) -> bool:
    """Whether a count keeps its place in bars of these lengths: whole bars of its meter, and room in the last."""
    if count.bars > len(lengths):
        return False
    *before, last = lengths[: count.bars]
    whole = count.meter.bar
    return all(length == whole for length in before) and count.end - len(before) * whole <= last


def _sparse(material: Material, lengths: tuple[Fraction, ...]) -> tuple[Candidate, ...]:
    """Candidates that keep the space within their own slot; none where even the sparsest does not (the slot rests)."""
    most = (1 - material.space) * sum(lengths, Fraction(0))
    return tuple(c for c in _candidates(material, lengths) if c.phrase.count.sounding <= most)

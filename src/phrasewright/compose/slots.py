"""Where phrases stand: bars with a phrase and bars that rest.

Bars are cut into slots, each beginning with a phrase and ending in rest, from dense (a phrase in every bar) to sparse
(one in eight). Each phrase may sound for its equal part of what the space leaves. The densest cut is taken in which
every count keeps within that; a cut with a rest bar after every phrase will do when every motif keeps one count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from phrasewright.compose.material import Material
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.shelf import ShelfMotif

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


def plan_slots(material: Material, bars: int) -> tuple[tuple[Slot, tuple[Candidate, ...]], ...]:
    """Slots that fill ``bars`` bars and what may stand in each; at least ``space`` of the whole is silent."""
    for cut in _CUTS:
        slots = _fill(cut, bars)
        part = (1 - material.space) * bars * material.meter.bar / len(slots)
        offers = [_candidates(material, slot) for slot in slots]
        kept = [tuple(c for c in offer if c.phrase.count.sounding <= part) for offer in offers]
        roomy = min(cut) > 1 and all(_letters(a) == _letters(b) for a, b in zip(offers, kept, strict=True))
        if all(kept) and (kept == offers or roomy):
            return tuple(zip(slots, kept, strict=True))
    slots = _fill(_CUTS[-1], bars)
    offers = [_sparse(material, slot) for slot in slots]
    return tuple((slot, offer) for slot, offer in zip(slots, offers, strict=True) if offer)


def _letters(offer: Sequence[Candidate]) -> set[str]:
    return {candidate.item.letter for candidate in offer}


def _fill(cut: Sequence[int], bars: int) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    bar = 0
    while bar < bars:
        length = min(cut[len(slots) % len(cut)], bars - bar)
        slots.append(Slot(bar=bar, bars=length))
        bar += length
    return tuple(slots)


def _candidates(material: Material, slot: Slot) -> tuple[Candidate, ...]:
    return tuple(
        Candidate(item=item, phrase=Phrase(item.motif, count, slot.bars - count.bars))
        for item in material.shelf.items
        for count in material.counts_for(item.motif)
        if count.bars <= slot.bars
    )


def _sparse(material: Material, slot: Slot) -> tuple[Candidate, ...]:
    """Candidates that keep the space within their own slot; none where even the sparsest does not (the slot rests)."""
    return tuple(c for c in _candidates(material, slot) if c.phrase.space >= material.space)

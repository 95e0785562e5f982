"""The board a study is composed on: slots in order, the phrases on offer in each, and how each would sit there."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from phrasewright.compose.material import Material
from phrasewright.compose.slots import Candidate, Slot
from phrasewright.melody.fit import Fit, fit_phrase


@dataclass(frozen=True, kw_only=True, eq=False)
class Board:
    """slots and offers: one of each for every phrase; an offer has at least one candidate. bars: of the whole."""

    material: Material
    slots: tuple[Slot, ...]
    offers: tuple[tuple[Candidate, ...], ...]
    bars: int
    _fits: dict[tuple[int, tuple[int, ...], str], Fit | None] = field(default_factory=dict)
    _alike: dict[object, int] = field(default_factory=dict)  # bars with the same chords have the same number

    def __post_init__(self) -> None:
        if len(self.slots) != len(self.offers) or not all(self.offers):
            raise ValueError("a board has one offer of at least one candidate for every slot")

    @cached_property
    def lowest_top_midi(self) -> int:
        """The highest note of the motif that reaches least high."""
        return min(max(note.pitch.midi for note in item.motif.notes) for item in self.material.shelf.items)

    @property
    def letters(self) -> tuple[str, ...]:
        """Letters of the motifs on offer anywhere, in the shelf's order; what is derived goes by its motif's letter."""
        offered = {candidate.letter for offer in self.offers for candidate in offer}
        return tuple(item.letter for item in self.material.shelf.items if item.letter in offered)

    def fit(self, slot: int, candidate: Candidate) -> Fit | None:
        """How a candidate sits on the chords of a slot, None where no chord holds. Worked out once for alike bars."""
        phrase = candidate.phrase
        key = (self._chords(self.slots[slot].bar, phrase.count.bars), phrase.motif.steps, phrase.count.text)
        if key not in self._fits:
            at = self.material.chart.onset(self.slots[slot].bar)
            self._fits[key] = fit_phrase(phrase, at, self.material.chord_at, idiom=self.material.idiom)
        return self._fits[key]

    def _chords(self, bar: int, bars: int) -> int:
        """A number for the chords of some bars: equal chords, equal number."""
        chart = self.material.chart.bars
        here = (bar % len(chart), bars)
        if here not in self._alike:
            spans = tuple(chart[number % len(chart)].chords for number in range(bar, bar + bars))
            self._alike[here] = self._alike.setdefault(spans, len(self._alike))
        return self._alike[here]

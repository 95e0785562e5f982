"""The board a study is composed on: slots in order, the phrases on offer in each, and how each would sit there."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from phrasewright.compose.material import Material
from phrasewright.compose.slots import Candidate, Slot
from phrasewright.melody.fit import Fit, fit_phrase
from phrasewright.theory.chord import Chord

_Spans = tuple[tuple[Fraction, Chord | None], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Board:
    """slots and offers: one of each for every phrase; an offer has at least one candidate. bars: of the whole."""

    material: Material
    slots: tuple[Slot, ...]
    offers: tuple[tuple[Candidate, ...], ...]
    bars: int
    _fits: dict[tuple[int, tuple[int, ...], str, _Spans], Fit | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if len(self.slots) != len(self.offers) or not all(self.offers):
            raise ValueError("a board has one offer of at least one candidate for every slot")

    @property
    def meter_bar(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return self.material.meter.bar

    @property
    def letters(self) -> tuple[str, ...]:
        """Letters of the motifs on offer anywhere, in the shelf's order; what is derived goes by its motif's letter."""
        offered = {candidate.letter for offer in self.offers for candidate in offer}
        return tuple(item.letter for item in self.material.shelf.items if item.letter in offered)

    def fit(self, slot: int, candidate: Candidate) -> Fit | None:
        """How a candidate sits on the chords of a slot, None where no chord holds. Worked out once for alike bars."""
        phrase = candidate.phrase
        at = self.slots[slot].bar * self.meter_bar
        spans = self._spans(self.slots[slot].bar, phrase.count.bars)
        key = (id(phrase.motif.position), phrase.motif.steps, phrase.count.text, spans)
        if key not in self._fits:
            self._fits[key] = fit_phrase(phrase, at, self.material.chord_at, idiom=self.material.idiom)
        return self._fits[key]

    def _spans(self, bar: int, bars: int) -> _Spans:
        chart = self.material.chart.bars
        return tuple(
            (length, chord) for number in range(bar, bar + bars) for chord, length in chart[number % len(chart)].chords
        )

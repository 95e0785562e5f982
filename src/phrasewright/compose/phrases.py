"""Choosing a phrase for every slot, and saying why.

A choice is worth its fit over the chords that sound under it (bits), the gain of landing on a chord tone, and a
bonus where the turn is its motif's. Joining it to the phrase before costs interval surprise (bits, docs/sources.md 12b)
and hand travel (mm). The best chain is found exactly (``chain``). Turns are dealt so that the whole shelf comes up,
each motif where it sits well; the seed adds a little luck to turns and choices. The exchange rates in ``Weights``
are our design, all in bits.

Landing: real soloists end 62.2 per cent of their phrases on a chord tone against 49.4 per cent of all notes
(docs/sources.md 3.6), so landing on one is worth log2(62.2 / 49.4) bits and missing it log2(37.8 / 50.6).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import log2
from random import Random

from phrasewright.compose.chain import Chain, best_path
from phrasewright.compose.deal import deal
from phrasewright.compose.material import Material
from phrasewright.compose.reason import Reason
from phrasewright.compose.slots import Candidate, Slot, plan_slots
from phrasewright.melody.ease import Fretted, at_the_nut, shift_mm
from phrasewright.melody.fit import Fit, fit_phrase
from phrasewright.melody.join import LineModel, join_bits
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase

LUCK = 0.5  # bits the seed may add when turns are dealt
NEVER = -1e3  # bits: not on offer in this slot
LAND_BITS, MISS_BITS = log2(0.622 / 0.494), log2(0.378 / 0.506)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """Exchange rates of a choice, in bits."""

    fit: float = 1.0
    landing: float = 1.5
    first_turn: float = 6.0  # it is this motif's turn for the first time: a learner should meet the whole shelf
    turn: float = 2.0  # it is its turn again
    chance: float = 0.25  # what the seed may add
    join: float = 0.08  # per bit of interval surprise: a rest lies between
    hand_per_mm: float = 0.005  # as if at the nut
    same_motif: float = 0.2  # the same motif twice: allowed, but not the rule
    said_again: float = 0.4  # and with the same count


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A phrase in its slot and why it is there. bar: from 0."""

    bar: int
    letter: str
    phrase: Phrase
    reason: Reason


def choose_phrases(material: Material, bars: int, *, weights: Weights | None = None) -> tuple[Placed, ...]:
    """The best phrase for every slot of ``bars`` bars; at least the material's space is silent."""
    plan = plan_slots(material, bars)
    chooser = _Chooser(material, plan, weights or Weights())
    return chooser.placed(best_path(chooser.chain()))


class _Chooser:
    """Worths and joins of one plan, looked up once."""

    def __init__(
        self, material: Material, plan: tuple[tuple[Slot, tuple[Candidate, ...]], ...], weights: Weights
    ) -> None:
        self.material, self.plan, self.weights = material, plan, weights
        pitches_midi = [note.pitch.midi for note in material.position.notes]
        self.model = LineModel(centre_midi=sum(pitches_midi) / len(pitches_midi))
        rng = Random(f"phrases {material.seed}")
        self.luck = [[rng.random() for _ in offer] for _, offer in plan]
        self.fits = [[self._fit(slot, candidate) for candidate in offer] for slot, offer in plan]
        self.joins: dict[tuple[str, str], float] = {}
        self.turns = _turns(self._best_by_letter(), [item.letter for item in material.shelf.items], rng)

    def chain(self) -> Chain[tuple[int, Candidate]]:
        """The chain to be walked; a choice is (its index in the slot, the candidate)."""
        return Chain(
            slots=[tuple(enumerate(offer)) for _, offer in self.plan],
            worth=self._worth,
            join=self._join,
            kind=lambda choice: choice[1].item.letter,
        )

    def _fit(self, slot: Slot, candidate: Candidate) -> Fit | None:
        at = slot.bar * self.material.meter.bar
        return fit_phrase(candidate.phrase, at, self.material.chord_at, idiom=self.material.idiom)

    def _own(self, fit: Fit | None) -> float:
        """What sitting and landing so is worth, in bits; nothing where no chord sounds."""
        if fit is None:
            return 0.0
        lands = LAND_BITS if fit.landing.role.is_chord_tone else MISS_BITS
        return self.weights.fit * fit.bits + self.weights.landing * lands

    def _best_by_letter(self) -> list[dict[str, float]]:
        """For every slot the most each motif can be worth there."""
        table: list[dict[str, float]] = []
        for (_, offer), fits in zip(self.plan, self.fits, strict=True):
            best: dict[str, float] = {}
            for candidate, fit in zip(offer, fits, strict=True):
                letter = candidate.item.letter
                best[letter] = max(best.get(letter, NEVER), self._own(fit))
            table.append(best)
        return table

    def _worth(self, slot: int, choice: tuple[int, Candidate]) -> float:
        index, candidate = choice
        due = self.weights.turn if slot >= len(self.material.shelf.items) else self.weights.first_turn
        turn = due if self.turns[slot] == candidate.item.letter else 0.0
        return self._own(self.fits[slot][index]) + turn + self.weights.chance * self.luck[slot][index]

    def _join(self, before: tuple[int, Candidate], after: tuple[int, Candidate]) -> float:
        old, new = before[1], after[1]
        pair = (old.item.letter, new.item.letter)
        if pair not in self.joins:
            self.joins[pair] = self._motif_join(old.item.motif, new.item.motif)
        same = old.item.letter == new.item.letter
        again = same and old.phrase.count.text == new.phrase.count.text
        repeating = (self.weights.same_motif if same else 0.0) + (self.weights.said_again if again else 0.0)
        return self.joins[pair] - repeating

    def _motif_join(self, old: Motif, new: Motif) -> float:
        line = [note.pitch.midi for note in old.notes]
        surprise = join_bits(line, new.notes[0].pitch.midi, self.model)
        ends = [Fretted(note.place, note.finger) for note in (old.notes[-1], new.notes[0])]
        travel_mm = shift_mm(ends, self.material.position.instrument) * at_the_nut(self.material.position)
        return -self.weights.join * surprise - self.weights.hand_per_mm * travel_mm

    def placed(self, path: tuple[tuple[int, Candidate], ...]) -> tuple[Placed, ...]:
        """The chosen phrases with their reasons."""
        result: list[Placed] = []
        for slot, (index, candidate) in enumerate(path):
            before = path[slot - 1][1] if slot else None
            result.append(
                Placed(
                    bar=self.plan[slot][0].bar,
                    letter=candidate.item.letter,
                    phrase=candidate.phrase,
                    reason=self._reason(slot, index, before),
                )
            )
        return tuple(result)

    def _reason(self, slot: int, index: int, before: Candidate | None) -> Reason:
        here, candidate = self.plan[slot][0], self.plan[slot][1][index]
        first = candidate.phrase.motif.notes[0].pitch.midi
        rest = here.bars * self.material.meter.bar - candidate.phrase.count.end
        return Reason(
            bar=here.bar,
            letter=candidate.item.letter,
            fit=self.fits[slot][index],
            interval_semitones=None if before is None else first - before.phrase.motif.notes[-1].pitch.midi,
            repeats=before is not None and before.item.letter == candidate.item.letter,
            rest=Fraction(rest),
            rest_bars=Fraction(rest) / self.material.meter.bar,
        )


def _turns(own: Sequence[Mapping[str, float]], letters: Sequence[str], rng: Random) -> list[str]:
    """Whose turn it is in each slot.

    Every letter comes up once before any comes up again; within such a round the turns are dealt so that the sum of
    the worths (``own``: slot by letter) is highest, after each has been given a little luck.
    """
    turns: list[str] = []
    for start in range(0, len(own), len(letters)):
        dealt = own[start : start + len(letters)]
        worths = [[worth.get(letter, NEVER) + LUCK * rng.random() for letter in letters] for worth in dealt]
        turns += [letters[column] for column in deal(worths)]
    return turns

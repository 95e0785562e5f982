"""What a choice costs, in bits, and out of which parts.

Alone: how it sits on the chords (docs/sources.md 12a), whether it lands on a chord tone, how far it is from the wished
difficulty. After the phrase before: interval surprise with half the reversal (12b), the way of the hand, and saying the
same motif again. Lower is better. The exchange rates in ``Weights`` are our design.

Landing: real soloists end 62.2 per cent of their phrases on a chord tone against 49.4 per cent of all notes
(docs/sources.md 3.6), so landing on one is worth log2(62.2 / 49.4) bits and missing it log2(37.8 / 50.6).
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from math import log2

from phrasewright.compose.board import Board
from phrasewright.compose.difficulty import difficulty_of_phrase
from phrasewright.compose.slots import Candidate
from phrasewright.melody.ease import Fretted, at_the_nut, shift_mm
from phrasewright.melody.join import join_bits, line_in
from phrasewright.melody.motif import Motif

LAND_BITS, MISS_BITS = log2(0.622 / 0.494), log2(0.378 / 0.506)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """Exchange rates, each >= 0, in bits."""

    fit: float = 1.0  # per bit of fit over the chords
    landing: float = 0.75  # per bit of landing on a chord tone or missing it
    join: float = 0.25  # per bit of interval surprise: a rest lies between
    hand: float = 0.005  # per mm that the hand travels, as if at the nut
    again: float = 0.6  # the same motif twice running: allowed, but not the rule
    difficulty: float = 2.0  # per unit away from the wished difficulty, where one is wished

    def __post_init__(self) -> None:
        wrong = [one.name for one in fields(self) if getattr(self, one.name) < 0]
        if wrong:
            raise ValueError(f"a weight is 0 or more: {', '.join(wrong)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The parts of one choice's cost in its place, in bits."""

    fit: float = 0.0
    landing: float = 0.0
    join: float = 0.0
    hand: float = 0.0
    again: float = 0.0
    difficulty: float = 0.0

    @property
    def bits(self) -> float:
        """The whole."""
        return self.fit + self.landing + self.join + self.hand + self.again + self.difficulty


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Costs:
    """Costs on one board. difficulty: the level wished of every phrase, None = any."""

    board: Board
    weights: Weights
    difficulty: float | None = None
    _joins: dict[tuple[tuple[int, ...], tuple[int, ...]], tuple[float, float]] = field(default_factory=dict)
    _levels: dict[tuple[tuple[int, ...], str], float] = field(default_factory=dict)

    def own(self, slot: int, candidate: Candidate) -> Parts:
        """What a choice costs by itself."""
        fit = self.board.fit(slot, candidate)
        level = 0.0 if self.difficulty is None else abs(self._level(candidate) - self.difficulty)
        if fit is None:
            return Parts(difficulty=self.weights.difficulty * level)
        lands = LAND_BITS if fit.landing.role.is_chord_tone else MISS_BITS
        return Parts(
            fit=-self.weights.fit * fit.bits,
            landing=-self.weights.landing * lands,
            difficulty=self.weights.difficulty * level,
        )

    def joined(self, before: Candidate, after: Candidate) -> Parts:
        """What a choice costs after another."""
        surprise, travel_mm = self._join(before.phrase.motif, after.phrase.motif)
        return Parts(
            join=self.weights.join * surprise,
            hand=self.weights.hand * travel_mm,
            again=self.weights.again if before.letter == after.letter else 0.0,
        )

    def _join(self, old: Motif, new: Motif) -> tuple[float, float]:
        key = (old.steps[-2:], new.steps[:1])
        if key not in self._joins:
            position = self.board.material.position
            line = [note.pitch.midi for note in old.notes[-2:]]
            surprise = join_bits(line, new.notes[0].pitch.midi, line_in(position))
            ends = [Fretted(note.place, note.finger) for note in (old.notes[-1], new.notes[0])]
            self._joins[key] = surprise, shift_mm(ends, position.instrument) * at_the_nut(position)
        return self._joins[key]

    def _level(self, candidate: Candidate) -> float:
        key = (candidate.phrase.motif.steps, candidate.phrase.count.text)
        if key not in self._levels:
            self._levels[key] = difficulty_of_phrase(candidate.phrase).level
        return self._levels[key]

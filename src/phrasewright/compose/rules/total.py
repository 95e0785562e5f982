"""Rules about the whole study: space, the whole shelf, and how long one motif may run."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Counting, Rule
from phrasewright.compose.slots import Candidate, windows


@dataclass(frozen=True, slots=True)
class KeepSpace(Rule):
    """Every four bars are silent for at least ``least`` and at most ``most`` of their time, 0..1.

    Bars are counted in windows (``slots.windows``). Windows that keep it make a study that keeps it.
    """

    least: Fraction
    most: Fraction = Fraction(1)

    @property
    def words(self) -> str:
        """The rule as a clause."""
        least = f"at least {float(100 * self.least):g} per cent" if self.least else ""
        most = f"at most {float(100 * self.most):g} per cent" if self.most < 1 else ""
        return f"{' and '.join(part for part in (least, most) if part)} of every four bars is silent"

    def counting(self, board: Board) -> Counting | None:
        """How long the window has sounded so far."""
        closes = {
            index: (window.bars * board.meter_bar, index == window.slots[-1])
            for window in windows(board.slots, board.bars)
            for index in window.slots
        }

        def step(state: Hashable, slot: int, symbol: Hashable) -> Hashable | None:
            length, is_last = closes[slot]
            sounding = cast(Fraction, state) + cast(Fraction, symbol)
            if sounding > (1 - self.least) * length:
                return None
            if not is_last:
                return sounding
            return Fraction(0) if sounding >= (1 - self.most) * length else None

        return Counting(
            start=Fraction(0),
            symbol=lambda _slot, candidate: candidate.phrase.count.sounding,
            step=step,
            accepts=lambda _state: True,
        )


@dataclass(frozen=True, slots=True)
class EveryMotif(Rule):
    """Every motif of the shelf comes at least once."""

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every motif of the shelf comes at least once"

    def counting(self, board: Board) -> Counting | None:
        """Which motifs have come: one bit for each; what can no longer be reached is dropped at once."""
        letters = [item.letter for item in board.material.shelf.items]
        bit = {letter: 1 << index for index, letter in enumerate(letters)}
        slots = len(board.slots)

        def step(state: Hashable, slot: int, symbol: Hashable) -> Hashable | None:
            come = cast(int, state) | cast(int, symbol)
            return come if len(letters) - come.bit_count() < slots - slot else None

        return Counting(
            start=0,
            symbol=lambda _slot, candidate: bit[candidate.letter],
            step=step,
            accepts=lambda state: cast(int, state).bit_count() == len(letters),
        )


@dataclass(frozen=True, slots=True)
class LongestRun(Rule):
    """No motif comes more than ``times`` times running; a changed ending counts as the same motif."""

    times: int = 2

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"no motif comes more than {self.times} times running"


def kind_of(candidate: Candidate) -> str:
    """What runs on: the motif's letter."""
    return candidate.letter

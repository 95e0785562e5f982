"""Rules about the whole study: space, the whole shelf, and how long one motif may run."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import cast

from phrasewright.compose.board import Board
from phrasewright.compose.rules.rule import Counting, Rule
from phrasewright.compose.slots import Candidate, windows

MOST_IN_A_ROUND = 8  # motifs: 256 states to remember


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
            index: (board.material.length(window.bar, window.bars), index == window.slots[-1])
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
    """Every motif of the shelf comes at least once, again and again.

    A long study is cut into rounds of about twice as many phrases as there are motifs, and each round has them all. A
    shelf of more than ``MOST_IN_A_ROUND`` goes by turns, a group of motifs in each round. whole: once in the whole
    study is enough, for shelves of up to that size.
    """

    whole: bool = False

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return "every motif of the shelf comes at least once" + (
            "" if self.whole else ", in long studies in every round"
        )

    def counting(self, board: Board) -> Counting | None:
        """Which motifs of the round's group have come, one bit for each; what cannot be reached is dropped at once."""
        rounds = self._rounds(board)
        bits = [{letter: 1 << index for index, letter in enumerate(letters)} for _, letters in rounds]
        where = {slot: number for number, (slots, _) in enumerate(rounds) for slot in slots}

        def step(state: Hashable, slot: int, symbol: Hashable) -> Hashable | None:
            slots, letters = rounds[where[slot]]
            come = cast(int, state) | bits[where[slot]].get(cast(str, symbol), 0)
            if len(letters) - come.bit_count() > slots[-1] - slot:
                return None
            return 0 if slot == slots[-1] else come

        def symbol(slot: int, candidate: Candidate) -> Hashable:
            return candidate.letter if candidate.letter in bits[where[slot]] else ""

        return Counting(start=0, symbol=symbol, step=step, accepts=lambda _state: True)

    def _rounds(self, board: Board) -> list[tuple[range, list[str]]]:
        """Slots of each round and the letters that must come in it."""
        letters = [item.letter for item in board.material.shelf.items]
        groups = 1 if self.whole else -(-len(letters) // MOST_IN_A_ROUND)
        size = -(-len(letters) // groups)
        slots = len(board.slots)
        number = 1 if self.whole else max(groups, slots // (2 * size))
        edges = [turn * slots // number for turn in range(number + 1)]
        return [
            (range(start, end), letters[turn % groups * size :][:size])
            for turn, (start, end) in enumerate(pairwise(edges))
            if end > start
        ]


@dataclass(frozen=True, slots=True)
class LongestRun(Rule):
    """No motif comes more than ``times`` times running; a changed ending counts as the same motif."""

    times: int = 2

    @property
    def words(self) -> str:
        """The rule as a clause."""
        return f"no motif comes more than {self.times} times running"

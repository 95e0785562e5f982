"""What is asked of the studies: how many, how long, how keen, under which rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations

from phrasewright.compose.board import Board
from phrasewright.compose.costs import Weights
from phrasewright.compose.material import Material
from phrasewright.compose.rules.paired import AnotherEnding
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.total import EveryMotif, KeepSpace, LongestRun
from phrasewright.compose.slots import Candidate, other_endings, plan_slots

USUAL_DIAL = 0.6
BITS_PER_BIT = 1.0  # keenness half-way up the dial
KEENEST = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyWish:
    """bars: length of each study; dial: 0 = a plain shuffle under the rules .. 1 = the best.

    rules: what must hold; left_out: usual rules (the whole shelf, no long runs) that are not even tried; difficulties:
    levels wished of the studies, spread evenly over them, empty = any. Raises ValueError for less than one bar or
    study, or a dial out of range.
    """

    bars: int
    how_many: int = 1
    dial: float = USUAL_DIAL
    rules: tuple[Rule, ...] = ()
    left_out: tuple[type[Rule], ...] = ()
    weights: Weights = field(default_factory=Weights)
    difficulties: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if self.bars < 1 or self.how_many < 1:
            raise ValueError(
                f"a study has at least one bar and there is at least one, got {self.bars}, {self.how_many}"
            )
        if not 0.0 <= self.dial <= 1.0:
            raise ValueError(f"the dial lies in 0..1, got {self.dial}")

    @property
    def keenness(self) -> float:
        """How much a bit of cost counts when a study is drawn: nothing at 0, growing without bound towards 1."""
        return min(BITS_PER_BIT * self.dial / max(1.0 - self.dial, 1e-9), KEENEST)

    def difficulty(self, study: int) -> float | None:
        """The level wished of a study, from 0; None = any. Fewer levels than studies are joined by even steps."""
        if not self.difficulties:
            return None
        at = study * (len(self.difficulties) - 1) / max(self.how_many - 1, 1)
        low = min(int(at), len(self.difficulties) - 1)
        high = min(low + 1, len(self.difficulties) - 1)
        return self.difficulties[low] + (at - low) * (self.difficulties[high] - self.difficulties[low])


def board_of(material: Material, wish: StudyWish) -> Board | None:
    """The board for a wish; None when so much space is asked that every bar rests.

    Where every second phrase is to change its ending, those phrases are on offer with other endings too.
    """
    plan = plan_slots(material, wish.bars)
    if not plan:
        return None
    changes = any(isinstance(rule, AnotherEnding) for rule in wish.rules)
    changed: dict[int, tuple[Candidate, ...]] = {}  # by which offer they add to

    def offer(index: int, candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
        if not changes or index % 2 == 0:
            return candidates
        if id(candidates) not in changed:
            others = tuple(other for candidate in candidates for other in other_endings(candidate))
            changed[id(candidates)] = candidates + others
        return changed[id(candidates)]

    return Board(
        material=material,
        bars=wish.bars,
        slots=tuple(slot for slot, _ in plan),
        offers=tuple(offer(index, candidates) for index, (_, candidates) in enumerate(plan)),
    )


def rule_sets(board: Board, wish: StudyWish) -> Iterator[tuple[Rule, ...]]:
    """The wish's rules with the usual ones, the set to be taken first: the first that any study keeps.

    The usual rules give way when they stand against the wish, the whole shelf first. Where a difficulty is wished the
    whole shelf is not tried, since hard motifs would have to come in easy studies.
    """
    usual = (LongestRun(2),) if wish.difficulties else (LongestRun(2), EveryMotif())
    added = [
        rule
        for rule in usual
        if not isinstance(rule, wish.left_out) and not any(isinstance(one, type(rule)) for one in wish.rules)
    ]
    for size in range(len(added), -1, -1):
        for some in combinations(added, size):
            yield (*wish.rules, KeepSpace(board.material.space), *some)

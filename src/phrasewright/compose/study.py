"""Studies: composed practice solos over the chart, with a reason for every phrase.

Composing is exact: the best study under the rules, or one drawn with the chance that its bits give it (``to_go``).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from random import Random

from phrasewright.compose.best import best_paths
from phrasewright.compose.board import Board
from phrasewright.compose.conflict import RuleConflictError, smallest_conflict
from phrasewright.compose.costs import Costs
from phrasewright.compose.difficulty import Difficulty, difficulty_of
from phrasewright.compose.draw import draw_paths
from phrasewright.compose.exercise import lead_score
from phrasewright.compose.explain import Placed, explain
from phrasewright.compose.material import Material
from phrasewright.compose.problem import lattice_of
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.single import Pinned
from phrasewright.compose.slots import Candidate
from phrasewright.compose.to_go import ToGo, look_ahead
from phrasewright.compose.wish import StudyWish, board_of, rule_sets
from phrasewright.score.model import Score

STUDY_TITLE = "Study"
DRAWS = 40  # tries for a study that is not there yet, before the best that is not is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """The solo, its phrases in order, how hard it is, the level that was wished, and the rules it keeps, in words."""

    score: Score
    phrases: tuple[Placed, ...]
    difficulty: Difficulty
    wished: float | None = None
    rules: tuple[str, ...] = ()

    @property
    def motifs(self) -> tuple[str, ...]:
        """Letters used, in order of first use."""
        return tuple(dict.fromkeys(placed.letter for placed in self.phrases))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Composing:
    """A board with its costs and the rules to keep, looked ahead over."""

    costs: Costs
    rules: tuple[Rule, ...]
    to_go: ToGo


def compose_studies(material: Material, wish: StudyWish) -> tuple[Study, ...]:
    """As many different studies as are wished, easiest first; fewer when the rules leave no more.

    Raises RuleConflictError when no study keeps the wish's rules.
    """
    return tuple(_named(sorted(_studies(material, wish), key=lambda study: study.difficulty.level)))


def compose_study(material: Material, wish: StudyWish) -> Study:
    """One study. Raises RuleConflictError."""
    return compose_studies(material, replace(wish, how_many=1))[0]


def vary_study(material: Material, wish: StudyWish, study: Study, *, keep_bars: Collection[int], turn: int) -> Study:
    """The study again with some bars kept (from 0) and the others drawn anew; ``turn`` gives another each time."""
    pins = tuple(
        Pinned(bar=placed.bar, letter=placed.letter, count=placed.phrase.count.text)
        for placed in study.phrases
        if any(placed.bar <= bar < placed.bar + placed.bars for bar in keep_bars)
    )
    again = replace(material, seed=material.seed + 1009 * turn)
    wished = () if study.wished is None else (study.wished,)
    varied = compose_study(again, replace(wish, rules=(*wish.rules, *pins), difficulties=wished))
    return replace(varied, score=replace(varied.score, title=study.score.title))


def _studies(material: Material, wish: StudyWish) -> Iterator[Study]:
    board = board_of(material, wish)
    if board is None:
        yield _study(_score(material, wish.bars, ()), ())
        return
    sets = tuple(rule_sets(board, wish))
    taken: set[tuple[int, ...]] = set()
    known: dict[float | None, _Composing] = {}
    for number in range(wish.how_many):
        wished = wish.difficulty(number)
        if wished not in known:
            known[wished] = _composing(board, wish, wished, sets)
            sets = (known[wished].rules,)  # which rules can be kept together does not hang on the difficulty
        here = known[wished]
        path = next((path for path in _offered(board, here.to_go, wish, number) if path not in taken), None)
        if path is None:
            return
        taken.add(path)
        placed = explain(here.costs, here.rules, here.to_go.lattice, path)
        study = _study(_score_of(board, path), placed)
        yield replace(study, wished=wished, rules=tuple(rule.words for rule in here.rules))


def _composing(board: Board, wish: StudyWish, wished: float | None, sets: Sequence[tuple[Rule, ...]]) -> _Composing:
    """Under the first set of rules that any study keeps. Raises RuleConflictError when there is none."""
    costs = Costs(board=board, weights=wish.weights, difficulty=wished)
    for rules in sets:
        to_go = look_ahead(lattice_of(costs, rules), keenness=wish.keenness)
        if to_go.possible:
            return _Composing(costs=costs, rules=rules, to_go=to_go)
    raise RuleConflictError(smallest_conflict(board, sets[-1]))


def _offered(board: Board, to_go: ToGo, wish: StudyWish, number: int) -> Iterator[tuple[int, ...]]:
    """Paths for a study in the order in which they are to be taken: drawn ones, then the best.

    Where a difficulty is wished, the drawn one that comes nearest to it as a whole goes first.
    """
    best = (path for _, path in best_paths(to_go))
    if wish.dial == 1.0:
        return best
    drawn = draw_paths(to_go, Random(f"study {board.material.seed} {number}"), how_many=DRAWS)
    wished = wish.difficulty(number)
    if wished is not None:
        drawn.sort(key=lambda path: abs(difficulty_of(_score_of(board, path)).level - wished))
    return chain(drawn, best)


def _score_of(board: Board, path: Sequence[int]) -> Score:
    line = zip(board.slots, board.offers, path, strict=True)
    return _score(board.material, board.bars, [(slot.bar, offer[choice]) for slot, offer, choice in line])


def _score(material: Material, bars: int, line: Sequence[tuple[int, Candidate]]) -> Score:
    """The phrases, each with the bar it begins in, as a score."""
    letters = list(dict.fromkeys(candidate.item.letter for _, candidate in line))
    words = (
        f"Play the whole solo with the band. It is made of {_list_words(letters)}; "
        "keep its rests as exactly as its notes."
    )
    notes = [
        note
        for bar, candidate in line
        for note in candidate.phrase.notes(material.chart.onset(bar), label=candidate.item.letter)
    ]
    return lead_score(
        STUDY_TITLE,
        words,
        notes,
        bars=bars,
        chart=material.chart,
        position=material.position,
        voice=material.voice,
    )


def _study(score: Score, placed: tuple[Placed, ...]) -> Study:
    return Study(score=score, phrases=placed, difficulty=difficulty_of(score))


def _named(studies: Sequence[Study]) -> Iterator[Study]:
    """Numbered when there are several."""
    for number, study in enumerate(studies, start=1):
        title = STUDY_TITLE if len(studies) == 1 else f"{STUDY_TITLE} {number}"
        yield replace(study, score=replace(study.score, title=title))


def _list_words(letters: list[str]) -> str:
    if not letters:
        return "rests alone"
    named = letters[0] if len(letters) == 1 else f"{', '.join(letters[:-1])} and {letters[-1]}"
    return f"motif {named}" if len(letters) == 1 else f"motifs {named}"

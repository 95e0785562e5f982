"""Rules: every study obeys each, checked by reading the study and not by asking the rule; conflicts are named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, groupby

import pytest
from compose_strategies import material
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.compose.board import Board
from phrasewright.compose.conflict import RuleConflictError, fails, smallest_conflict
from phrasewright.compose.difficulty import difficulty_of_phrase
from phrasewright.compose.rules.broken import broken_rule
from phrasewright.compose.rules.climb import ClimbTo, peak_slot
from phrasewright.compose.rules.paired import AnotherEnding, QuestionAndAnswer
from phrasewright.compose.rules.rule import Rule
from phrasewright.compose.rules.single import (
    BeginWith,
    EndOn,
    EndOnChordTones,
    EndWith,
    NoHarderThan,
    Pinned,
    Spot,
)
from phrasewright.compose.rules.total import EveryMotif, KeepSpace, LongestRun
from phrasewright.compose.study import Study, compose_studies, compose_study, vary_study
from phrasewright.compose.wish import StudyWish, board_of
from phrasewright.theory.interval import Degree

MADE = material()
BARS = 16


def tops(study: Study) -> list[int]:
    return [max(note.pitch.midi for note in one.phrase.motif.notes) for one in study.phrases]


def obeys(rule: Rule, study: Study) -> bool:
    """Whether a study keeps a rule, read off its phrases."""
    phrases = study.phrases
    letters = [one.letter.rstrip("′") for one in phrases]
    ends = [one.phrase.motif.notes[-1] for one in phrases]
    pairs = list(zip(phrases[::2], phrases[1::2], strict=False))
    checks: dict[type[Rule], Callable[[], bool]] = {
        EveryMotif: lambda: set(letters) == {item.letter for item in MADE.shelf.items},
        LongestRun: lambda: max(len(list(run)) for _, run in groupby(letters)) <= rule.times,
        EndOnChordTones: lambda: all(one.reason.fit.landing.role.is_chord_tone for one in phrases),
        EndOn: lambda: all(end.degree in rule.degrees for end in ends),
        BeginWith: lambda: phrases[0].phrase.motif.notes[0].degree == rule.spot.degree,
        EndWith: lambda: ends[-1].degree == rule.spot.degree,
        Pinned: lambda: next(one for one in phrases if one.bar <= rule.bar < one.bar + one.bars).letter == rule.letter,
        NoHarderThan: lambda: all(difficulty_of_phrase(one.phrase).level <= rule.level for one in phrases),
        QuestionAndAnswer: lambda: all(
            a.phrase.count == b.phrase.count and a.phrase.motif.notes[-1].pitch != b.phrase.motif.notes[-1].pitch
            for a, b in pairs
        ),
        AnotherEnding: lambda: all(
            a.phrase.count == b.phrase.count
            and a.phrase.motif.steps[:-1] == b.phrase.motif.steps[:-1]
            and a.phrase.motif.steps[-1] != b.phrase.motif.steps[-1]
            for a, b in pairs
        ),
        ClimbTo: lambda: _climbs(study, rule),
        KeepSpace: lambda: _keeps_space(study, rule),
    }
    return checks[type(rule)]()


def _climbs(study: Study, rule: ClimbTo) -> bool:
    """The peak once, three quarters through; before it tops within five semitones of a straight line up to it."""
    wanted = max(note.pitch.midi for note in MADE.position.notes if rule.spot.is_at(note))
    found = tops(study)
    peak = min(3 * len(found) // 4, len(found) - 1)
    low = min(max(note.pitch.midi for note in item.motif.notes) for item in MADE.shelf.items)
    others = found[:peak] + found[peak + 1 :]
    near = all(abs(top - (low + (wanted - low) * slot / peak)) <= 5 for slot, top in enumerate(found[:peak]))
    return found[peak] == wanted and near and all(top < wanted for top in others)


def _keeps_space(study: Study, rule: KeepSpace) -> bool:
    for start in range(0, BARS, 4):
        sounding = sum(
            (one.phrase.count.sounding for one in study.phrases if start <= one.bar < start + 4), Fraction(0)
        )
        if not rule.least <= 1 - sounding / 16 <= rule.most:
            return False
    return True


SPOTS = st.sampled_from([Spot(Degree(1)), Spot(Degree(5)), Spot(Degree(3, -1)), Spot(Degree(4))])
RULES = st.one_of(
    st.just(EveryMotif()),
    st.integers(1, 3).map(LongestRun),
    st.just(EndOnChordTones()),
    st.just(EndOn((Degree(1), Degree(5), Degree(3, -1)))),
    st.just(QuestionAndAnswer()),
    SPOTS.map(BeginWith),
    SPOTS.map(EndWith),
    SPOTS.map(ClimbTo),
    st.builds(Pinned, bar=st.integers(0, BARS - 1), letter=st.sampled_from("ABCDE")),
    st.floats(3.0, 9.0).map(lambda level: NoHarderThan(level)),
    st.builds(
        KeepSpace, st.sampled_from([Fraction(2, 5), Fraction(1, 2)]), st.sampled_from([Fraction(7, 10), Fraction(1)])
    ),
)


@settings(max_examples=60)
@given(st.lists(RULES, max_size=5, unique_by=type), st.sampled_from([0.0, 0.6, 1.0]), st.integers(0, 99))
def test_every_study_keeps_every_rule(rules: list[Rule], dial: float, seed: int) -> None:
    """Any rules together: the studies keep them all, or the fewest that cannot be kept together are named."""
    wish = StudyWish(bars=BARS, how_many=3, dial=dial, rules=tuple(rules))
    made = replace(MADE, seed=seed)
    try:
        studies = compose_studies(made, wish)
    except RuleConflictError as error:
        board = board_of(made, wish)
        assert board is not None
        _check_smallest(board, list(rules), error.rules)
        return
    assert studies
    assert len({study.score for study in studies}) == len(studies)
    for study in studies:
        assert all(obeys(rule, study) for rule in rules)
        assert obeys(KeepSpace(made.space), study)


def _check_smallest(board: Board, rules: list[Rule], named: tuple[Rule, ...]) -> None:
    """The named rules fail together, and no smaller set of all rules does."""
    assert fails(board, named)
    everything = [*rules, KeepSpace(board.material.space)]
    for size in range(1, len(named)):
        assert not any(fails(board, some) for some in combinations(everything, size))


@pytest.mark.parametrize(("how_many", "bars"), [(5, 64), (12, 64), (20, 96)])
def test_long_studies_bring_the_whole_shelf_again_and_again(how_many: int, bars: int) -> None:
    """In every stretch of five times as many phrases as there are motifs, each motif comes, large shelves by turns."""
    made = material(how_many=how_many, sizes=(2, 3, 4), symbols="E7 A7 E7 B7")
    letters = {item.letter for item in made.shelf.items}
    study = compose_study(made, StudyWish(bars=bars, rules=(EveryMotif(),)))
    line = [placed.letter for placed in study.phrases]
    assert len(line) > 2 * len(letters)
    assert set(line) == letters
    if len(letters) <= 8:
        assert all(set(line[at : at + 5 * len(letters)]) == letters for at in range(len(line) - 5 * len(letters)))


def test_once_in_the_whole_study_is_enough_where_it_is_so_asked() -> None:
    """The whole shelf comes, but not in every round."""
    study = compose_study(MADE, StudyWish(bars=96, dial=1.0, rules=(EveryMotif(whole=True),)))
    line = [placed.letter for placed in study.phrases]
    assert set(line) == set("ABCDE")
    assert any(set(line[at : at + 20]) != set("ABCDE") for at in range(len(line) - 20))


def test_a_changed_ending_is_the_phrase_before_with_another_last_note() -> None:
    """The second phrase of a pair is marked with a prime, keeps its count and all notes but the last."""
    study = compose_study(MADE, StudyWish(bars=12, rules=(AnotherEnding(),)))
    assert obeys(AnotherEnding(), study)
    pairs = list(zip(study.phrases[::2], study.phrases[1::2], strict=False))
    assert pairs
    assert all(second.letter.rstrip("′") == first.letter for first, second in pairs)
    assert all(
        "comes again with another ending, " in second.reason.sentence for _, second in pairs if "′" in second.letter
    )


def test_rules_that_conflict_are_named_in_words() -> None:
    """Two pins on one bar: exactly those two are named, among others that do no harm."""
    rules = (LongestRun(3), Pinned(2, "A"), EndOnChordTones(), Pinned(2, "B"))
    with pytest.raises(RuleConflictError) as caught:
        compose_study(MADE, StudyWish(bars=12, rules=rules))
    assert caught.value.rules == (Pinned(2, "A"), Pinned(2, "B"))
    assert "bar 3 has motif A; bar 3 has motif B" in str(caught.value)
    assert caught.value.hint


def test_one_impossible_rule_is_named_alone() -> None:
    """A note that no motif begins with."""
    with pytest.raises(RuleConflictError, match="rule that the first note is ♯4"):
        compose_study(MADE, StudyWish(bars=12, rules=(EveryMotif(), BeginWith(Spot(Degree(4, 1))))))


def test_the_usual_rules_give_way() -> None:
    """A study pinned to one motif throughout is made, although the usual rules would want the whole shelf."""
    pins = tuple(Pinned(bar, "C") for bar in range(12))
    study = compose_study(MADE, StudyWish(bars=12, rules=pins))
    assert set(study.motifs) == {"C"}
    assert not any("every motif" in words for words in study.rules)


def test_of_the_usual_rules_only_those_in_the_way_give_way() -> None:
    """Three pins running leave room for the whole shelf; a shelf that is too large for the bars gives way first."""
    board = board_of(MADE, StudyWish(bars=24))
    assert board is not None
    pins = tuple(Pinned(slot.bar, "C") for slot in board.slots[:3])
    running = compose_study(MADE, StudyWish(bars=24, rules=pins))
    assert [placed.letter for placed in running.phrases][:3] == ["C", "C", "C"]
    assert set(running.motifs) == set("ABCDE")
    assert not any(rule.words in running.rules for rule in (LongestRun(1), LongestRun(2)))
    short = compose_study(MADE, StudyWish(bars=4))
    assert len(short.phrases) < 5
    assert LongestRun(2).words in short.rules
    assert EveryMotif().words not in short.rules


def test_nothing_conflicts_without_rules() -> None:
    """No rules, no conflict."""
    board = board_of(MADE, StudyWish(bars=12))
    assert board is not None
    assert smallest_conflict(board, ()) == ()


def test_the_dial_goes_from_shuffle_to_best() -> None:
    """At 1 the studies are the best ones in order of bits; lower down they cost more on average, most at 0."""
    costs = []
    for dial in (0.0, 0.5, 0.9, 1.0):
        studies = compose_studies(MADE, StudyWish(bars=12, how_many=12, dial=dial))
        costs.append(sum(sum(one.reason.parts.bits for one in study.phrases) for study in studies) / len(studies))
    assert costs == sorted(costs, reverse=True)


def test_locked_bars_stay_and_others_change() -> None:
    """A variation keeps the phrases of the bars named; over several turns the rest changes."""
    wish = StudyWish(bars=12)
    study = compose_study(MADE, wish)
    varied = [vary_study(MADE, wish, study, keep_bars=range(4), turn=turn) for turn in range(1, 7)]
    kept = [(one.bar, one.letter, one.phrase) for one in study.phrases if one.bar < 4]
    for other in varied:
        assert [(one.bar, one.letter, one.phrase) for one in other.phrases if one.bar < 4] == kept
    assert len({other.score for other in varied}) > 1


def test_a_wished_difficulty_is_approached() -> None:
    """Each study comes within three quarters of a level of its wish, where the shelf has such phrases."""
    wish = StudyWish(bars=12, how_many=3, difficulties=(3.8, 5.0, 6.0))
    studies = compose_studies(MADE, wish)
    levels = [study.difficulty.level for study in studies]
    assert levels == sorted(levels)
    assert all(abs(study.difficulty.level - study.wished) < 0.75 for study in studies if study.wished)
    assert levels[-1] > levels[0] + 1.5


def test_studies_climb_evenly() -> None:
    """Six studies from one level to another: each near its place on a straight line, and none easier than the last."""
    wish = StudyWish(bars=12, how_many=6, difficulties=(4.5, 6.0))
    assert [wish.difficulty(number) for number in range(6)] == pytest.approx([4.5, 4.8, 5.1, 5.4, 5.7, 6.0])
    levels = [study.difficulty.level for study in compose_studies(MADE, wish)]
    assert levels == sorted(levels)
    assert all(abs(level - wish.difficulty(number)) < 0.4 for number, level in enumerate(levels))


def test_reasons_name_what_came_second() -> None:
    """The runner-up is another motif; put in its place it changes the cost by what the reason says."""
    study = compose_study(MADE, StudyWish(bars=12, dial=1.0))
    seconds = [one.reason for one in study.phrases if one.reason.runner_up is not None]
    assert seconds
    for reason in seconds:
        other = reason.runner_up
        assert other is not None
        assert other.letter.rstrip("′") != reason.letter.rstrip("′")
        assert other.parts.bits >= reason.parts.bits - 1e-9  # in the best study nothing else is better
        assert reason.second.startswith(other.letter)


def test_the_peak_lies_three_quarters_through() -> None:
    """Nine phrases peak in the seventh, one phrase in the first."""
    board = board_of(MADE, StudyWish(bars=12))
    assert board is not None
    assert peak_slot(board) == 3 * len(board.slots) // 4


def test_a_rule_that_keeps_others_out_is_named() -> None:
    """Where a motif comes its only time, the rule that the whole shelf must come is what keeps the others out."""
    study = compose_study(MADE, StudyWish(bars=12, rules=(EveryMotif(),)))
    alone = [one.reason for one in study.phrases if one.reason.runner_up is None]
    assert alone
    for reason in alone:
        assert reason.kept_out is not None
        letter, words = reason.kept_out
        assert letter != reason.letter
        assert reason.second == f"{letter} would break a rule here: {words}."


@settings(max_examples=30)
@given(st.lists(RULES, min_size=1, max_size=4, unique_by=type), st.integers(0, 99))
def test_the_broken_rule_is_found(rules: list[Rule], seed: int) -> None:
    """A plain shuffle without rules: the first rule it does not keep is named, none when it keeps them all."""
    wish = StudyWish(bars=BARS, dial=0.0, left_out=(EveryMotif, LongestRun))
    study = compose_study(replace(MADE, seed=seed), wish)
    board = board_of(MADE, wish)
    assert board is not None
    by_phrase = [{one.phrase: one for one in offer} for offer in board.offers]
    line = [offer[placed.phrase] for offer, placed in zip(by_phrase, study.phrases, strict=True)]
    assert broken_rule(rules, board, line) == next((rule for rule in rules if not obeys(rule, study)), None)

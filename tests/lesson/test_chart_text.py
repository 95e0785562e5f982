"""Charts read from text and written back."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lesson_strategies import METERS, charts

from phrasewright.lesson.chart_reader import ChartError, bar_split
from phrasewright.lesson.chart_repeats import MAX_BARS
from phrasewright.lesson.chart_text import read_chart, write_chart
from phrasewright.score.chart import Chart
from phrasewright.theory.meter import Meter

FOUR = Meter(4, 4)


def words(chart: Chart) -> list[str]:
    """Each bar as its chords with their lengths."""
    return [" ".join(f"{chord or 'N.C.'}:{length}" for chord, length in bar.chords) for bar in chart.bars]


@given(charts())
def test_a_chart_survives_write_and_read(chart: Chart) -> None:
    """Writing and reading a chart gives the same chart."""
    assert read_chart(write_chart(chart), chart.meter) == chart


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Em7", ["Em7:4"]),
        ("| Em7 | A7 |", ["Em7:4", "A7:4"]),
        ("| Em7 |\n\n| A7 ||\n", ["Em7:4", "A7:4"]),
        ("Em7 | A7\nD", ["Em7:4", "A7:4", "D:4"]),
        ("| Em7 A7 | % |", ["Em7:2 A7:2", "Em7:2 A7:2"]),
        ("| Em7 . . A7 |", ["Em7:3 A7:1"]),
        ("| Em7 / / / |", ["Em7:4"]),
        ("| N.C. | NC . C |".replace("NC . C", "NC C"), ["N.C.:4", "N.C.:2 C:2"]),
        ("|: A | B :| C |", ["A:4", "B:4", "A:4", "B:4", "C:4"]),
        ("A | B :| x3", ["A:4", "B:4"] * 3),
        ("|: A :||: B :|x3 C", ["A:4", "A:4", "B:4", "B:4", "B:4", "C:4"]),
        ("A :|\nx3", ["A:4"] * 3),
        ("| C/E |", ["C/E:4"]),
        ("| D7 . . . . . . Am7 |", ["D7:7/2 Am7:1/2"]),
    ],
)
def test_what_the_signs_mean(text: str, expected: list[str]) -> None:
    """Each sign of the grammar, by example."""
    assert words(read_chart(text, FOUR)) == expected


def test_a_section_name_stays_on_its_first_bar_only() -> None:
    """A repeat does not print its name again."""
    chart = read_chart("[Verse  1]\n|: A | B :|\n[Turn] C", FOUR)
    assert [bar.section for bar in chart.bars] == ["Verse 1", "", "", "", "Turn"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("|: A | 1. B :| 2. C | D |", "A B A C D"),
        ("A | B | 1. C :| 2. D ||", "A B C A B D"),
        ("|: A | 1. B :| 2. C :| 3. D", "A B A C A D"),
        ("|: A | 1.2. B :| 3. C :| D", "A B A B A C D"),
        ("|: A | 1. B | % :|\n   2. C | D |", "A B B A C D"),
        ("|: A | 1. % :| 2. % | D", "A A A A D"),
        ("|: A | 1. B :| 2. C |: D :| x3", "A B A C D D D"),
        ("|: A | 1. B :| 2. C |\n[B]\nD | E :|", "A B A C D E D E"),
        ("E |: A | 1. B C :| 2. D |", "E A BC A D"),
    ],
)
def test_endings_are_played_each_after_its_own_round(text: str, expected: str) -> None:
    """The bars before the first ending come again before every other one; the last ending goes on."""
    bars = read_chart(text, FOUR).bars
    assert " ".join("".join(str(chord) for chord, _ in bar.chords) for bar in bars) == expected


@given(st.lists(st.lists(st.sampled_from("ABCDEFG"), min_size=1, max_size=3), min_size=3, max_size=5))
def test_a_chart_with_endings_is_the_chart_played_out(parts: list[list[str]]) -> None:
    """A body and its endings give the same bars as writing every round out."""
    body, *endings = (" | ".join(part) for part in parts)
    marked = " :| ".join(f"{number}. {ending}" for number, ending in enumerate(endings, start=1))
    played_out = " | ".join(f"{body} | {ending}" for ending in endings)
    assert read_chart(f"|: {body} | {marked} |", FOUR) == read_chart(f"| {played_out} |", FOUR)


def test_the_order_plays_sections_as_they_are_named() -> None:
    """Each section is written once; every time it comes it prints its name."""
    chart = read_chart("[A]\n| C | D |\n[Bridge 2]\n| E |\norder: A, A, Bridge 2, A", FOUR)
    assert words(chart) == ["C:4", "D:4", "C:4", "D:4", "E:4", "C:4", "D:4"]
    assert [bar.section for bar in chart.bars] == ["A", "", "A", "", "Bridge 2", "A", ""]


def test_a_meter_holds_until_the_next_one() -> None:
    """Every bar knows its meter; bars of the chart's own need none."""
    chart = read_chart("| C | 3/4 D | % | 4/4 E F |", FOUR)
    assert [bar.meter for bar in chart.bars] == [None, Meter(3, 4), Meter(3, 4), None]
    assert words(chart) == ["C:4", "D:3", "D:3", "E:2 F:2"]
    assert [(bar.onset, str(bar.meter)) for bar in chart.unfold(6)] == [
        (0, "4/4"), (4, "3/4"), (7, "3/4"), (10, "4/4"), (14, "4/4"), (18, "3/4"),
    ]  # fmt: skip
    assert words(chart.even()) == ["C:4", "E:2 F:2"]


def test_tempo_and_ritardando() -> None:
    """A tempo holds until the next one, a ritardando for its bar."""
    chart = read_chart("| C | @80% D | @rit E | @100% F |", FOUR)
    assert [bar.pace for bar in chart.bars] == [1, Fraction(4, 5), Fraction(4, 5), 1]
    assert [bar.slows for bar in chart.bars] == [False, False, True, False]


def test_stops_belong_to_their_chord() -> None:
    """A stop is said of one chord of a bar, and repeated with it."""
    chart = read_chart("| C! D | E | F! | % |", FOUR)
    assert [sorted(bar.stops) for bar in chart.bars] == [[0], [], [0], [0]]
    assert [span.stop for span in chart.unfold(1)[0].chords] == [True, False]


def test_pick_up_and_coda_are_played_once() -> None:
    """The pick-up comes before the first chorus, the coda from inside the last one."""
    chart = read_chart("(G7 .) | C | D @coda | E |\n[Coda] F | C |", FOUR)
    played = chart.whole(2)
    assert [str(bar.chords[0].chord) for bar in played] == ["G7", "C", "D", "E", "C", "D", "F", "C"]
    assert [bar.number for bar in played] == list(range(8))
    assert [bar.onset for bar in played] == [0, *(2 + 4 * n for n in range(7))]
    assert [str(bar.chords[0].chord) for bar in chart.unfold(4)] == ["C", "D", "E", "C"]


def test_only_the_last_of_several_rounds_leaves_for_the_coda() -> None:
    """A section played three times, and a repeat: one bar is marked, the one that the coda follows."""
    for text in ("order: A, B, A\n[A] C | D @coda |\n[B] E |\n[Coda] F |", "|: C | D @coda :| x2\n[Coda] F |"):
        chart = read_chart(text, FOUR)
        assert [bar.to_coda for bar in chart.bars] == [False] * (len(chart.bars) - 1) + [True]
        assert [str(bar.chords[0].chord) for bar in chart.whole(1)][-2:] == ["D", "F"]


def test_a_pick_up_may_hold_chords_with_brackets() -> None:
    """The brackets of a chord are not the pick-up's."""
    chart = read_chart("(Am(maj7) E7(#9)!) | C |", FOUR)
    assert chart.pickup is not None
    assert [str(chord) for chord, _ in chart.pickup.chords] == ["Am(maj7)", "E7(#9)"]
    assert chart.pickup.stops == {1}


def test_a_coda_without_a_sign_follows_the_whole_chorus() -> None:
    """Nothing of the last chorus is left out."""
    chart = read_chart("| C | D |\n[Coda]\n| F |", FOUR)
    assert [str(bar.chords[0].chord) for bar in chart.whole(2)] == ["C", "D", "C", "D", "F"]


@given(charts(), st.integers(1, 3))
def test_a_chart_played_as_a_whole_leaves_no_gap(chart: Chart, choruses: int) -> None:
    """Bars follow each other, each as long as its meter; what goes round is the chorus alone."""
    played = chart.whole(choruses)
    assert all(after.onset == bar.end for bar, after in pairwise(played))
    assert all(bar.chords[-1].end == bar.end for bar in played)
    round_again = chart.unfold(2 * len(chart.bars))
    assert round_again[-1].end == 2 * chart.length
    assert all(bar.onset == chart.onset(index) for index, bar in enumerate(round_again))


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_every_share_of_a_bar_fills_it(meter: Meter) -> None:
    """However many words a bar may hold, together they last one bar."""
    shares = [split for n in range(20) if (split := bar_split(meter, n))]
    assert all(sum(split) == meter.bar for split in shares)
    assert (meter.bar,) in shares


def test_odd_bars_are_shared_by_their_felt_groups() -> None:
    """5/4 as 3 + 2, 7/8 as 2 + 2 + 3."""
    assert bar_split(Meter(5, 4), 2) == (3, 2)
    assert bar_split(Meter(7, 8), 3) == (1, 1, Fraction(3, 2))


@pytest.mark.parametrize(
    ("text", "offset", "what"),
    [
        ("| Cmaj7 | H7 |", 10, "does not begin with a note name"),
        ("| C | | D |", 6, "empty"),
        ("| C D E |", 2, "cannot hold 3 words"),
        ("| . C |", 2, "cannot begin"),
        ("| % |", 2, "no bar before"),
        ("| C | D % |", 8, "stands alone"),
        ("[A C |", 0, "no closing bracket"),
        ("[] C", 0, "no name"),
        ("C ] D", 2, "without an opening"),
        ("|: C | D", 0, "never closed"),
        ("|: C |: D :|", 5, "inside another"),
        (":| C", 0, "no bar to repeat"),
        ("|: C :| x1", 8, "2 to 32 times"),
        ("|: C :| x99999999999999999999", 8, "2 to 32 times"),
        ("| C | x3", 6, "no repeat ends here"),
        ("C\n[B]", 5, "has no bars"),
        ("|: A | 1. B", 7, "never closed"),
        ("A | 1. B |: C :|", 4, "never closed"),
        ("|: A | 1. B :| C", 12, "ending 2. is missing"),
        ("|: A | 1.2. B :|", 14, "ending 3. is missing"),
        ("|: A | 1. B :|\n[B]\n2. C", 12, "ending 2. is missing"),
        ("|: A | 2. B :|", 7, "should stand here is 1."),
        ("|: A | 1. B :| 3. C", 15, "should stand here is 2."),
        ("|: A | 1.3. B :| 3. C", 7, "should stand here is 1."),
        ("|: 1. B :| 2. C", 3, "no bars before this ending"),
        ("|: A | 1. B | 2. C :|", 14, "inside another ending"),
        ("|: A | B 1. C :| 2. D", 9, "inside a bar"),
        ("|: A | 1. :| 2. C", 10, "has no bars"),
        ("|: A | 1. B :| 2. C :| x2", 23, "no repeat ends here"),
        ("", 0, "no bars"),
        ("| C " * (MAX_BARS + 1), 4 * MAX_BARS + 2, "longer than"),
        ("| C | (D7) | E |", 6, "inside the chart"),
        ("(C D E F) | C |", 0, "1 to 3 beats"),
        ("() | C |", 0, "1 to 3 beats"),
        ("(C | C |", 0, "no closing bracket"),
        ("| C 3/4 D |", 4, "stands inside a bar"),
        ("| 5/2 C |", 2, "no meter 5/2"),
        ("| 99/4 C |", 2, "no meter 99/4"),
        ("| 3/4 C | D |", 0, "no bar of the chart is in 4/4"),
        ("| C | 3/4 % |", 10, "longer or shorter"),
        ("| @900% C |", 2, "no tempo"),
        ("| @fast C |", 2, "no direction @fast"),
        ("| C @rit |", 4, "stands inside a bar"),
        ("| C | @80%", 6, "no bar follows"),
        ("| @coda C |\n[Coda] D", 2, "before its bar"),
        ("| C @coda |", 4, "no coda to leave for"),
        ("| C @coda | D @coda |\n[Coda] D", 14, "stands twice"),
        ("[Coda] D", 0, "nothing before it"),
        ("| C |\n[coda] D\n[B] E", 6, "follows the coda"),
        ("order: A B\n[A] C", 9, 'no section "B"'),
        ("order: A\n[A] C\n[B] D", 0, "leaves out the section B"),
        ("order:\n[A] C", 0, "names no section"),
        ("order: A\nC\n[A] D", 0, "no section to name"),
        ("order: A\n[A] C\n[A] D", 0, "two sections"),
        ("order: A\n[A] C\norder: A", 15, "two lines"),
        (f"order: {'A ' * 80}\n[A] " + "C | " * 9, 0, "longer than"),
        ("| N.C.! |", 2, "stops nothing"),
    ],
)
def test_each_slip_is_named_where_it_stands(text: str, offset: int, what: str) -> None:
    """The problem says what and at which character."""
    with pytest.raises(ChartError) as caught:
        read_chart(text, FOUR)
    (problem,) = caught.value.problems
    assert problem.offset == offset
    assert what in problem.what
    assert problem.hint


def test_all_slips_are_named_in_order() -> None:
    """One reading finds every problem."""
    with pytest.raises(ChartError) as caught:
        read_chart("| H | C | | G8 |", FOUR)
    assert [problem.offset for problem in caught.value.problems] == [2, 10, 13]


@given(st.text("|:[]%x123. \nABCm7#/N-é@!()4order", max_size=60), st.sampled_from(METERS))
def test_any_text_gives_a_chart_or_chart_problems(text: str, meter: Meter) -> None:
    """Nothing else is raised, and every problem lies inside the text."""
    try:
        bars, problems = len(read_chart(text, meter).bars), ()
    except ChartError as error:
        bars, problems = 1, error.problems
    assert 1 <= bars <= MAX_BARS
    assert all(0 <= problem.offset <= len(text) for problem in problems)

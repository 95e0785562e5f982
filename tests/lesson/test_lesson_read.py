"""Lesson files read: what they mean, what is left out, and what is said when they are wrong."""

from __future__ import annotations

import re
import runpy
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import phrasewright.lesson as package
from phrasewright.compose.exercise import ExerciseKind
from phrasewright.errors import LessonError
from phrasewright.lesson.model import Lesson, tapped_beat
from phrasewright.lesson.read import decode_lesson, read_lesson
from phrasewright.lesson.syntax import MAX_CHARACTERS
from phrasewright.melody.priors import Idiom
from phrasewright.neck.place import PositionStyle
from phrasewright.theory.meter import Meter

TESTS = Path(__file__).resolve().parents[1]
BROKEN = sorted((TESTS / "data" / "broken").glob("*.toml"))
MADE = runpy.run_path(str(TESTS / "data" / "regenerate.py"))
DEMO = (Path(package.__file__).parent / "demo.toml").read_text(encoding="utf-8")
SMALLEST = '[lesson]\ntitle = "One"\n[scale]\nroot = "E"\n'


def problems_of(text: str) -> list[str]:
    with pytest.raises(LessonError) as caught:
        read_lesson(text, "x.toml")
    return [problem.what for problem in caught.value.problems]


@pytest.mark.parametrize("file", BROKEN, ids=lambda file: file.stem)
def test_a_broken_lesson_is_explained(file: Path) -> None:
    """Each broken file has its expected messages, and every message says how to mend it."""
    messages = MADE["messages_of"](file)
    assert messages == file.with_suffix(".expected.txt").read_text(encoding="utf-8")
    lines = messages.splitlines()
    assert all(re.match(r"[\w-]+\.toml:\d+:\d+: \S", line) for line in lines[0::2])
    assert all(re.match(r"    \S.*[.?]$", line) for line in lines[1::2])


def test_there_are_many_broken_lessons() -> None:
    """At least forty kinds of slips are pinned."""
    assert len(BROKEN) >= 40


def test_the_smallest_lesson_has_everything() -> None:
    """A title and a root are enough; the rest is what is usual."""
    lesson = read_lesson(SMALLEST, "x.toml")
    assert lesson.instrument.id == "guitar"
    assert lesson.scale.name == "E minor pentatonic"
    assert lesson.position.style is PositionStyle.BOX
    assert lesson.shelf.sizes == (3, 4)
    assert lesson.shelf.idiom is Idiom.BLUES
    assert set(lesson.counts) == {3, 4}
    assert lesson.space == Fraction(2, 5)
    assert [chord.symbol for chord in lesson.chart.chords] == ["Em7"]
    assert lesson.tempos_bpm == (60.0, 75.0, 90.0)
    assert lesson.exercises == tuple(ExerciseKind)
    assert lesson.study.bars == len(lesson.chart.bars)


@pytest.mark.parametrize(
    ("kind", "symbol"),
    [
        ("minor-pentatonic", "Em7"),
        ("major", "Emaj7"),
        ("mixolydian", "E7"),
        ("dorian", "Em7"),
        ("locrian", "Em7b5"),
        ("melodic-minor", "Em(maj7)"),
        ("major-pentatonic", "E6"),
        ("whole-tone", "Eaug7"),
    ],
)
def test_a_scale_without_chart_gets_its_own_chord(kind: str, symbol: str) -> None:
    """The chord is built of the scale's own tones."""
    lesson = read_lesson(f'{SMALLEST}kind = "{kind}"\n', "x.toml")
    assert lesson.chart.chords[0].symbol == symbol
    assert lesson.chart.chords[0].pitch_classes <= {note.pitch_class for note in lesson.scale.notes}


def test_the_demonstration_lesson_is_good() -> None:
    """It reads without a problem and says what its file says."""
    lesson = read_lesson(DEMO, "demo.toml")
    assert lesson.position.style is PositionStyle.OPEN
    assert lesson.school == "Harbour Lane Community Music School"
    assert len(lesson.chart.bars) == lesson.study.bars == 12
    assert len(lesson.tempos_bpm) == 3
    assert "doctor" in lesson.words


def test_line_ends_and_a_mark_at_the_start_do_not_matter() -> None:
    """Files from any editor read the same."""
    expected = read_lesson(DEMO, "x")
    assert read_lesson(decode_lesson(("\ufeff" + DEMO.replace("\n", "\r\n")).encode(), "x"), "x") == expected


def test_tunings_are_written_from_the_last_string() -> None:
    """The first note written is the lowest string of a guitar; inside, string 1 stands first."""
    lesson = read_lesson(SMALLEST + '[instrument]\ntuning = "D2 A2 D3 G3 B3 E4"\n', "x")
    assert [str(pitch) for pitch in lesson.instrument.tuning] == ["E4", "B3", "G3", "D3", "A2", "D2"]


def test_an_instrument_of_ones_own_needs_only_a_tuning() -> None:
    """Four strings in fifths on a guitar's neck."""
    lesson = read_lesson(SMALLEST + '[instrument]\nkind = "other"\ntuning = "C3 G3 D4 A4"\n', "x")
    assert len(lesson.instrument.tuning) == 4
    assert problems_of(SMALLEST + '[instrument]\nkind = "other"\n') == [
        'there is no tuning "standard" of this instrument'
    ]


def test_counts_go_to_the_motifs_of_their_size() -> None:
    """A count of four notes serves motifs of four; a size without one gets a plain one."""
    lesson = read_lesson(SMALLEST + '[rhythm]\ncounts = ["1 & 2 3", "1 2 & 3"]\n', "x")
    assert [count.text for count in lesson.counts[4]] == ["1 & 2 3", "1 2 & 3"]
    assert all(len(count.strokes) == 3 for count in lesson.counts[3])


def test_written_motifs_stand_alone_unless_sizes_are_given() -> None:
    """With written motifs and no sizes, the shelf has the written ones only."""
    block = '[[motifs.written]]\ndegrees = "1 up 5, b7"\n'
    assert read_lesson(SMALLEST + block, "x").shelf.sizes == ()
    assert read_lesson(SMALLEST + "[motifs]\nsizes = [3]\n" + block, "x").shelf.sizes == (3,)
    assert read_lesson(SMALLEST + block, "x").shelf.written[0].text == "1 up 5 b7"


@pytest.mark.parametrize(("meter", "beat"), [("4/4", 1), ("7/8", 1), ("6/8", Fraction(3, 2)), ("12/8", Fraction(3, 2))])
def test_tempos_count_what_a_foot_taps(meter: str, beat: Fraction) -> None:
    """Quarter notes, and dotted quarters in compound meters."""
    assert tapped_beat(Meter.parse(meter)) == beat


def test_one_slip_gives_one_message() -> None:
    """What depends on a wrong key is left alone: a wrong meter does not make the counts and the chart wrong."""
    text = SMALLEST + '[rhythm]\ncounts = ["1 2 3 4 5"]\n[band]\nmeter = "5/5"\nchart = "C D E F G"\n'
    assert problems_of(text) == ['there is no meter "5/5" here']


def test_a_file_too_large_to_be_a_lesson_is_refused() -> None:
    """Reading stops before a megabyte is parsed."""
    assert problems_of("#" * (MAX_CHARACTERS + 1))[0].startswith("the file is larger")
    with pytest.raises(LessonError):
        decode_lesson(b"#" * (4 * MAX_CHARACTERS + 1), "x")


def test_very_many_problems_are_counted_and_not_all_shown() -> None:
    """A hundred and one messages for a file of nothing but slips."""
    what = problems_of(SMALLEST + "[band]\n" + "".join(f"k{number} = 1\n" for number in range(250)))
    assert len(what) == 101
    assert what[-1] == "from here on there are 150 more problems"


def test_a_message_stays_one_line_that_a_terminal_can_show() -> None:
    """What a file smuggles into a key does not reach the screen, and endless words are cut."""
    with pytest.raises(LessonError) as caught:
        read_lesson(SMALLEST + f'kind = "{"minor-" * 9000}"\n[band]\n"a\\n\\u001b[31m" = 1\n', "x")
    lines = str(caught.value).splitlines()
    assert len(lines) == 4
    assert all(line.isprintable() and len(line) < 1000 for line in lines)


def outcome(text: str) -> Lesson | None:
    """The lesson, or None when it is refused; a refusal has problems, each in the file and with a hint."""
    try:
        return read_lesson(text, "x.toml")
    except LessonError as error:
        problems = error.problems
    lines = text.removeprefix("\ufeff").count("\n") + 1
    if not problems or any(not p.hint or not 1 <= (p.line or 1) <= lines or (p.column or 1) < 1 for p in problems):
        raise ValueError(f"problems without place or hint: {problems}")
    return None


@given(st.text(max_size=200))
@example("a = " + "[" * 5000)
@example("a = " + "9" * 5000)
@example("[lesson]\ntitle = 1e999999\n")
@example("\r")
@example("\x00")
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    """Nothing but LessonError is raised for any text."""
    assert outcome(text) is None


@given(st.binary(max_size=100))
def test_any_bytes_are_decoded_or_refused_in_words(data: bytes) -> None:
    """Nothing but LessonError is raised for any bytes."""
    try:
        text = decode_lesson(data, "x")
    except LessonError as error:
        text = str(error)
    assert isinstance(text, str)


SLIPS = (
    "",
    '"',
    "'",
    "[",
    "]",
    "|",
    "-1",
    "0",
    "1e9",
    "true",
    "nan",
    "\n",
    "=",
    "{}",
    "é",
    "[[motifs.written]]\n",
    "b",
    "%",
)


@settings(max_examples=100)
@given(st.integers(0, len(DEMO)), st.integers(0, 12), st.sampled_from(SLIPS))
def test_a_good_lesson_with_a_slip_of_the_pen_is_read_or_refused_in_words(at: int, gone: int, slip: str) -> None:
    """A few letters lost or put in anywhere never give a traceback."""
    outcome(DEMO[:at] + slip + DEMO[at + gone :])


VALUES = st.one_of(
    st.integers(-5, 400).map(str),
    st.sampled_from(
        ['"x"', '""', '"1 2 3"', "[]", "[1]", '["1"]', "{}", "1.5", "true", "2026-01-01", "[[]]", '"| C |"']
    ),
)


@settings(max_examples=100)
@given(st.integers(0, 100), VALUES)
def test_a_good_lesson_with_any_value_exchanged_is_read_or_refused_in_words(number: int, value: str) -> None:
    """Any key of a lesson may get any value."""
    keys = list(re.finditer(r"(?m)^(\w+) = (?!\"\"\")(.*)$", DEMO))
    match = keys[number % len(keys)]
    outcome(DEMO[: match.start(2)] + value + DEMO[match.end(2) :])

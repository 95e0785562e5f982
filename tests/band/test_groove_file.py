"""Groove files: what they say is what is played, and every mistake is told with its place and its mending."""

from __future__ import annotations

import re
import string
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pytest
from band_strategies import METERS, unfolded
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band.arrange import accompany
from phrasewright.band.groove import FILES, GROOVES
from phrasewright.band.groove_file import DRUM_KEYS, VOICES, GrooveFileError, read_groove
from phrasewright.band.groove_file import METERS as FILE_METERS
from phrasewright.band.groove_model import BASS_SIGNS, CHORD_SIGNS, DRUM_SIGNS, BassStyle, ChordStyle
from phrasewright.errors import Problem
from phrasewright.score.model import Drum
from phrasewright.theory.meter import Meter

DOCS = (Path(__file__).resolve().parents[2] / "docs" / "band.md").read_text("utf-8")
(EXAMPLE,) = re.findall(r"```toml\n(.*?)```", DOCS, re.DOTALL)
WRITING = DOCS.partition("## Writing a groove")[2].partition("## Form")[0]
FOUR = Meter(4, 4)


def test_the_example_of_the_docs_is_a_groove() -> None:
    """The complete example in docs/band.md is read as it stands, and plays."""
    groove = read_groove(EXAMPLE, "docs/band.md")
    assert (groove.id, groove.name, groove.meters) == ("harbour-rock", "Harbour rock", (FOUR, Meter(3, 4)))
    assert groove.swing.ratio_at(120.0) == pytest.approx(1.15)
    plan = groove.plan(FOUR)
    assert plan.beats[0].lanes[0] == (Drum.CLOSED_HAT, "XoxoXoxo")
    assert [fill.start for fill in plan.fills] == [Fraction(3), Fraction(2)]
    assert groove.plan(Meter(3, 4)).fills == ()
    for meter in groove.meters:
        assert accompany(unfolded("Em7 | A7 | Em7 | B7", str(meter)), groove, seed=1).drums.hits


@pytest.mark.parametrize(
    "word", [*DRUM_KEYS, *VOICES, *BassStyle, *ChordStyle, *DRUM_SIGNS, *CHORD_SIGNS, *BASS_SIGNS, ".", "-", "|"]
)
def test_the_docs_name_every_word(word: str) -> None:
    """Every piece, voice, style and sign stands in the section on writing a groove."""
    shown = word.replace("|", r"\|")  # as a cell of a table has it
    assert f"`{shown}`" in WRITING


def test_the_docs_list_the_grooves() -> None:
    """The table of grooves in docs/band.md has a row for each, and each folder's file is in the catalogue."""
    rows = re.findall(r"^\| `([\w/-]+)` \|", DOCS.partition("## Writing a groove")[0], re.MULTILINE)
    assert rows == list(GROOVES)
    there = {entry.name for entry in files("phrasewright.band").joinpath("grooves").iterdir()}
    assert there == {f"{name}.toml" for name in FILES}
    assert tuple(METERS) == FILE_METERS


PLAN = 'id = "a"\nname = "a"\ndescription = "a"\n[[plan]]\nmeter = "4/4"\n'


@pytest.mark.parametrize(
    ("text", "where", "what", "hint"),
    [
        ('id = "a"\nname = "a"\n[[plan]]\nmeter = "4/4"\nbass = ["R---"]', "description", "is missing", "Add a line"),
        (
            'id = 3\nname = "a"\ndescription = "a"\n[[plan]]\nmeter="4/4"\nbass=["R---"]',
            "id",
            "must be a text",
            "Write",
        ),
        ('id = "a"\nname = "a"\ndescription = "a"\n', "plan", "no plan", "Write [[plan]]"),
        (PLAN, "plan[1].meter", "plays nothing", "Add [[plan.beats]]"),
        (PLAN.replace("4/4", "9/8"), "plan[1].meter", 'no meter "9/8"', "2/4, 3/4, 4/4, 5/4, 6/8, 7/8, 12/8"),
        (PLAN.replace('meter = "4/4"', ""), "plan[1].meter", "is missing", 'Add a line meter = "..."'),
        (
            PLAN + 'bass = ["R---", "RqR-"]',
            "plan[1].bass[2]",
            'no sign "q" (step 2)',
            "Signs here: R 2 3 4 5 6 7 8 c w A g",
        ),
        (
            PLAN + 'bass = ["R--- | R---"]',
            "plan[1].bass[1]",
            'no sign "|" (step 5)',
            "Bar lines stand in a bass riff only",
        ),
        (
            PLAN + 'bass = ["R--- | R--"]\n[bass]\nstyle = "riff"',
            "plan[1].bass[1]",
            "bar 2: 3 steps do not fill a bar of 4/4",
            "Write 4, 8 or 16",
        ),
        (
            PLAN + 'bass = ["R--- | -R--"]\n[bass]\nstyle = "riff"',
            "plan[1].bass[1]",
            "bar 2: there is nothing to hold at step 1",
            "Put a stroke before it",
        ),
        (PLAN + 'chords = ["x---"]\n[chords]\nstyle = "shell"', "chords.style", 'no style "shell"', 'mean "shells"?'),
        (PLAN + 'chords = ["x-R."]', "plan[1].chords[1]", 'no sign "R" (step 3)', "Signs here: X x o p - ."),
        (PLAN + 'chords = ["x..x..x"]', "plan[1].chords[1]", "7 steps do not fill a bar of 4/4", "Write 4, 8 or 16"),
        (PLAN + 'chords = ["-x.."]', "plan[1].chords[1]", "nothing to hold at step 1", "Put a stroke before it"),
        (PLAN + "bass = [3]", "plan[1].bass[1]", "must be a text", "Write patterns in quotes"),
        (PLAN + 'bass = "R---"', "plan[1].bass", "must be a list", "Put it into [ ]"),
        (PLAN + 'bas = ["R---"]', "plan[1].bas", 'no key "bas"', 'Did you mean "bass"?'),
        (PLAN + 'bass = ["R---"]\n"a\\nb" = 1', r"plan[1].a\nb", r'no key "a\nb"', "Known are meter, beats"),
        (PLAN + '[[plan.beats]]\nhat = "xx-x"', "plan[1].beats[1].hat", 'no sign "-"', "Signs here: X x o f ."),
        (PLAN + '[[plan.beats]]\nhatt = "xxxx"', "plan[1].beats[1].hatt", 'no key "hatt"', 'Did you mean "hat"?'),
        (PLAN + '[[plan.beats]]\nhat = "xxxx"\n[[plan.beats]]', "plan[1].beats[2]", "no drums", "Write a line"),
        (
            PLAN + '[[plan.beats]]\nhat = "xxxx"\n[[plan.fills]]\nlow = "...."',
            "plan[1].fills[1]",
            "no stroke",
            "Write x",
        ),
        (PLAN + 'bass = ["R---"]\n[[plan.fills]]\nlow = "...x"', "plan[1].fills", "without a beat", "Add a beat"),
        (PLAN + 'bass = ["R---"]\nbeats = "xxxx"', "plan[1].beats", "must be sections", "Write [[plan.beats]]"),
        (PLAN + 'bass = ["R---"]\n[[plan]]\nmeter = "4/4"', "plan[2].meter", "a plan for 4/4 already", "into one"),
        ("swing = [[120]]\n" + PLAN + 'bass = ["R---"]', "swing[1]", "pair of numbers", "[120, 2.0]"),
        ("swing = [[120, 9]]\n" + PLAN + 'bass = ["R---"]', "swing[1]", "no tempo and swing ratio", "1 (even) to 4"),
        (
            "swing = [[120, 2], [90, 2]]\n" + PLAN + 'bass = ["R---"]',
            "swing[2]",
            "90 comes after 120",
            "by rising tempo",
        ),
        (
            "swing = [[120, 2]]\n" + PLAN.replace("4/4", "6/8") + 'bass = ["R-"]',
            "plan[1].meter",
            "cannot swing",
            "leave",
        ),
        (PLAN + 'bass = ["R---"]\n[bass]\nstyle = "walk"', "bass.style", 'no style "walk"', 'Did you mean "walking"?'),
        (
            PLAN + 'bass = ["R---"]\n[chords]\nvoice = "harp"',
            "chords.voice",
            'no voice "harp"',
            "Known are guitar, rhythm",
        ),
        (PLAN + 'bass = ["R---"]\n[drums]\ncrash = "gong"', "drums.crash", 'no crash "gong"', "Known are kick, snare"),
        ("drums = 4\n" + PLAN + 'bass = ["R---"]', "drums", "must be a section", "Write [drums]"),
    ],
)
def test_each_mistake_is_told(text: str, where: str, what: str, hint: str) -> None:
    """One mistake gives one problem: its key, what is wrong, how to mend it; the file's name leads."""
    with pytest.raises(GrooveFileError) as caught:
        read_groove(text, "mine.toml")
    (problem,) = caught.value.problems
    assert problem.where == where
    assert what in problem.what
    assert hint in problem.hint
    assert str(caught.value).startswith(f"mine.toml: {problem.what} [{where}]")
    assert caught.value.exit_code == 2


def test_broken_toml_has_its_line() -> None:
    """What is no TOML at all is told with line and column."""
    with pytest.raises(GrooveFileError, match=r"^mine\.toml:2:\d+: the file cannot be read here"):
        read_groove('id = "a"\nname = a\n', "mine.toml")


def test_mistakes_are_told_together() -> None:
    """One reading reports them all."""
    with pytest.raises(GrooveFileError) as caught:
        read_groove(EXAMPLE.replace('"R--RR-5A"', '"R--RR-5"').replace("crash", "gong").replace("3/4", "3/5"), "a.toml")
    assert [problem.where for problem in caught.value.problems] == [
        "drums.gong",
        "plan[1].bass[1]",
        "plan[2].meter",
    ]


@given(st.data())
def test_any_slip_is_read_or_told(data: st.DataObject) -> None:
    """Whatever is struck out, doubled or written over in a file, the answer is a groove or an error for people."""
    place = data.draw(st.integers(0, len(EXAMPLE) - 1))
    length = data.draw(st.integers(0, 12))
    middle = data.draw(st.text(string.printable, max_size=4))
    text = EXAMPLE[:place] + middle + EXAMPLE[place + length :]
    told: tuple[Problem, ...] = ()
    try:
        groove = read_groove(text, "slip.toml")
    except GrooveFileError as error:
        told = error.problems
    else:
        for meter in groove.meters:
            accompany(unfolded("Em7 | A7 D7", str(meter)), groove, seed=0)
        return
    assert told
    assert all(problem.what and problem.hint for problem in told)

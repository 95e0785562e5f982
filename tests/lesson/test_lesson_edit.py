"""Changes of a lesson's text: what was asked for changes, all else stays as it was written."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lesson_strategies import lessons

from phrasewright.errors import LessonError
from phrasewright.lesson.edit import BLOCKS, Change, Plain, change_text, value_text
from phrasewright.lesson.new import starter
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.schema import SECTIONS
from phrasewright.lesson.write import write_lesson

TERSE = """\
band = { tempos = [60], chart = '''| Em7 |''' } # inline
lesson.title = "One [x] line" # a remark
scale.root = "E"
motifs = { written = [ { degrees = "1 b3" } , {degrees="4 5",cycle=2}] }
position = {}
"""
REMARKS = '''\
# first
[lesson]   # the lesson
title = "Words"
words = """
# seed = 4
[study]
"""
# seed = 7

# before the scale
[scale]
root = "E"

[[motifs.written]]
degrees = "1 b3 4"
name = "three"   # mine

[[motifs.written]]
degrees = "5 4"

# about the band
[band]
'''
LINES = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=30)
SCALARS = LINES | st.booleans() | st.integers(-(2**31), 2**31) | st.floats(allow_nan=False, allow_infinity=False)
VALUES = SCALARS | st.lists(LINES | st.integers(), max_size=4)
KEYS = [(section, key) for section, model in SECTIONS.items() for key in model.model_fields if (section, key) != BLOCKS]
TEXTS = st.sampled_from([TERSE, REMARKS, "", starter("A new one", "E")]) | lessons().map(write_lesson)


def written(value: Plain) -> object:
    """A value as its text says it."""
    return tomllib.loads(f"value = {value_text(value)}")["value"]


@given(VALUES)
def test_a_value_survives_its_text(value: Plain) -> None:
    """Text of several lines comes back with its last line ended."""
    found = written(value)
    assert found == value or (isinstance(value, str) and found == value.rstrip("\n") + "\n")


@given(TEXTS, st.lists(st.tuples(st.sampled_from(KEYS), st.none() | VALUES), min_size=1, max_size=8))
def test_what_is_asked_for_changes_and_nothing_else(
    text: str, asked: list[tuple[tuple[str, str], Plain | None]]
) -> None:
    expected: dict[str, Any] = deepcopy(tomllib.loads(text))
    for (section, key), value in asked:
        expected.setdefault(section, {}).pop(key, None)
        if value is not None:
            expected[section][key] = written(value)
    changed = change_text(text, [Change(path=path, value=value) for path, value in asked])
    found = tomllib.loads(changed)
    assert {name: part for name, part in found.items() if part} == {
        name: part for name, part in expected.items() if part
    }


@given(TEXTS, st.data())
def test_motifs_are_written_changed_and_taken_out(text: str, data: st.DataObject) -> None:
    for _ in range(data.draw(st.integers(1, 6))):
        before = tomllib.loads(text)
        blocks = deepcopy(before.get("motifs", {}).get("written", []))
        number = data.draw(st.integers(0, len(blocks)))
        block = {
            "degrees": data.draw(LINES.filter(lambda line: "\n" not in line)),
            "cycle": data.draw(st.integers(1, 4)),
        }
        deed = data.draw(st.sampled_from(["add", "rename", "drop"])) if number < len(blocks) else "add"
        if deed == "add":
            text = change_text(text, [Change(path=(*BLOCKS, len(blocks)), value=block)])
            blocks.append(block)
        elif deed == "rename":
            text = change_text(text, [Change(path=(*BLOCKS, number, "name"), value="mine")])
            blocks[number]["name"] = "mine"
        else:
            text = change_text(text, [Change(path=(*BLOCKS, number), value=None)])
            del blocks[number]
        after = tomllib.loads(text)
        assert after.get("motifs", {}).get("written", []) == blocks
        assert {k: v for k, v in after.items() if k != "motifs"} == {k: v for k, v in before.items() if k != "motifs"}


def test_remarks_stay_and_make_room_for_the_key_they_hold_ready() -> None:
    text = change_text(
        REMARKS, [Change(path=("lesson", "seed"), value=9), Change(path=("scale", "kind"), value="blues")]
    )
    assert '"""\nseed = 9\n\n# before the scale' in text, "the remark outside the words is the one replaced"
    assert "# seed = 4\n[study]" in text
    assert 'root = "E"\nkind = "blues"\n\n[[motifs' in text
    text = change_text(
        REMARKS, [Change(path=("motifs", "written", 0), value=None), Change(path=("band", "tempos"), value=[60])]
    )
    assert '[[motifs.written]]\ndegrees = "5 4"\n\n# about the band\n[band]\ntempos = [60]' in text
    assert "three" not in text


def test_a_changed_starting_lesson_still_reads() -> None:
    text = starter("A", "E")
    changes = [
        Change(path=("study", "bars"), value=8),
        Change(path=("study", "again"), value=["bars 5-8"]),
        Change(path=("motifs", "left_out"), value=["1 b3 4"]),
        Change(path=("band", "chart"), value="| Em7 | A7 |\n| Em7 | B7 |"),
        Change(path=(*BLOCKS, 0), value={"degrees": "1 b3 4", "name": "mine"}),
    ]
    lesson = read_lesson(change_text(text, changes), "a")
    assert lesson.study.bars == 8
    assert lesson.shelf.written[0].name == "mine"
    assert len(lesson.chart.bars) == 4


@pytest.mark.parametrize(
    "path",
    [(), ("band",), ("band", "tempo"), ("..", "x"), BLOCKS, (*BLOCKS, -1), (*BLOCKS, 0, "size"), ("band", "tempos", 0)],
)
def test_a_key_that_no_lesson_has_is_refused(path: tuple[str | int, ...]) -> None:
    with pytest.raises(ValueError, match="no lesson has a key"):
        Change(path=path, value=1)


def test_a_text_that_is_no_toml_is_left_alone() -> None:
    with pytest.raises(LessonError):
        change_text("[lesson\ntitle = ", [Change(path=("lesson", "title"), value="x")])

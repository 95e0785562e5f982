"""The index of places laid over a TOML text."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.lesson.toml_text import KeyPath, Spot, index_toml, opening_of

LETTERS = st.characters(codec="utf-8", exclude_characters="\x7f", exclude_categories=("Cc", "Cs"))
WORDS = st.text(LETTERS, max_size=12)
MANY_LINES = st.lists(WORDS, min_size=1, max_size=3).map("\n".join)
LEAVES = st.one_of(st.integers(-9, 99), st.booleans(), WORDS, MANY_LINES, st.floats(0, 9).map(lambda x: round(x, 2)))
VALUES = st.recursive(
    LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3), max_leaves=8
)
DOCUMENTS = st.dictionaries(WORDS, VALUES, max_size=5)


def leaves(value: object, path: KeyPath = ()) -> dict[KeyPath, Any]:
    """Every value that is no table or list, by path."""
    if isinstance(value, dict):
        return {p: v for name, inner in value.items() for p, v in leaves(inner, (*path, name)).items()}
    if isinstance(value, list):
        return {p: v for number, inner in enumerate(value) for p, v in leaves(inner, (*path, number)).items()}
    return {path: value}


def check(text: str) -> None:
    index = index_toml(text)
    text = index.text
    expected = leaves(tomllib.loads(text))
    assert expected.keys() <= index.values.keys()
    for path, value in expected.items():
        offset = index.values[path]
        if isinstance(value, str):
            assert len(index.characters[path]) == len(value) + 1
            for letter, at in zip(value, index.characters[path], strict=False):
                assert text[at] in (letter, "\\")
        elif isinstance(value, bool):
            assert text[offset:].startswith("true" if value else "false")
        elif isinstance(value, int):
            assert text[offset:].startswith(str(value))


@given(DOCUMENTS)
def test_every_value_of_a_written_document_is_found_where_it_stands(document: dict[str, Any]) -> None:
    """The standard parser's values and the index agree on any document."""
    check(tomlkit.dumps(document))


TRICKY = '''
top = 1 # a "comment" with [brackets]
"quoted key".'literal'.bare = "va\\"l\\u00e9\\n"
[a . b]
x = [1, # one
  [2, 3], {y = "z", w.v = 'q'},
]
s = """
first \\
    second
third ""quotes"""""
l = \'\'\'
C:\\path''\'\'\'
when = 1979-05-27 07:32:00 # a time
[[list]]
n = 1
[[list]]
n = 2
[list.inner]
m = 3
[[list.deep]]
k = 4
'''


@pytest.mark.parametrize("text", [TRICKY, TRICKY.replace("\n", "\r\n"), "", "# only a comment", "a=1", "a = ''"])
def test_every_kind_of_key_and_string_is_followed(text: str) -> None:
    """Quoted and dotted keys, four kinds of strings, joined lines, lists of tables, comments."""
    check(text)


def test_a_letter_inside_a_string_of_many_lines_has_its_line_and_column() -> None:
    """The second line of a chart is the next line of the file."""
    index = index_toml('[band]\nchart = """\n| A |\n  | H |\n"""\n')
    path: KeyPath = ("band", "chart")
    assert index.key(path) == Spot(2, 1)
    assert index.value(path) == Spot(2, 9)
    assert index.character(path, "| A |\n  | ".__len__()) == Spot(4, 5)


def test_a_letter_after_an_escape_is_still_in_place() -> None:
    """An escape is one letter of the text and several of the file."""
    index = index_toml(r's = "a\u00e9\tb"')
    assert index.character(("s",), 3) == Spot(1, 15)


def test_what_is_not_there_falls_back_to_the_table_that_lacks_it() -> None:
    """A missing key points to its section."""
    index = index_toml("[a]\n[b]\nx = 1\n")
    assert index.value(("b", "y")) == Spot(2, 1)
    assert index.value(("c",)) is None


@pytest.mark.parametrize(
    ("text", "offset"),
    [
        ("x = [1,\n2", 4),
        ('x = """a\n', 4),
        ("x = 'a\ny = 1", 4),
        ("[a]\nb = {c = 1, ", 8),
        ("x = 1", None),
        ("=", None),
    ],
)
def test_what_was_left_open_is_found(text: str, offset: int | None) -> None:
    """The opening quote or bracket is where the teacher looks, not the end of the file."""
    assert opening_of(text) == offset


@given(st.text(max_size=80))
def test_no_text_upsets_the_search_for_what_was_left_open(text: str) -> None:
    """Any text gives an offset inside it or none."""
    offset = opening_of(text)
    assert offset is None or 0 <= offset < len(text)

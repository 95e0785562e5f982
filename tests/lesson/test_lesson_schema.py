"""The JSON Schema, the reference of keys, and the commented starting lesson."""

from __future__ import annotations

import re
import runpy
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from lesson_strategies import lessons

from phrasewright.errors import LessonError
from phrasewright.lesson.model import Lesson
from phrasewright.lesson.new import starter
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.schema import SECTIONS, json_schema
from phrasewright.lesson.write import write_lesson

TESTS = Path(__file__).resolve().parents[1]
MADE = runpy.run_path(str(TESTS / "data" / "regenerate.py"))
DOCS = TESTS.parent / "docs" / "lesson-file.md"
DEMO = MADE["SCHEMA"].with_name("demo.toml")
SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
STARTERS: tuple[dict[str, Any], ...] = (
    {},
    {"style": "open"},
    {"root": "Bb", "kind": "major-blues", "style": "three per string"},
    {"root": "F#", "kind": "dorian", "meter": "12/8"},
    {"root": "D", "kind": "altered", "meter": "7/8", "teacher": 'Ann "Red" Lee', "school": "Harbour Lane"},
    {"root": "G", "kind": "major", "instrument": "ukulele", "style": "one string", "meter": "3/4"},
    {"root": "A", "kind": "harmonic-minor", "instrument": "bass", "meter": "5/4", "groove": "swing"},
)


def start(options: dict[str, Any]) -> str:
    return starter("Three notes", **{"root": "A", **options})


def test_the_committed_schema_is_current() -> None:
    """Run tests/data/regenerate.py when this fails."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert MADE["SCHEMA"].read_text(encoding="utf-8") == MADE["schema_text"]()


def test_every_key_is_described_and_documented() -> None:
    """The docs page has the current tables, and no key is without a sentence."""
    page = DOCS.read_text(encoding="utf-8")
    assert MADE["docs_text"](page) == page
    for name, model in SECTIONS.items():
        assert f"### `[{name}]`" in page
        for key, field in model.model_fields.items():
            assert f"| `{key}` |" in page
            assert (field.description or "").endswith((".", '".'))


def test_the_examples_of_the_docs_are_good_lessons() -> None:
    """Every TOML block of the page, put after the smallest lesson where it is only a part, reads."""
    blocks = re.findall(r"```toml\n(.*?)```", DOCS.read_text(encoding="utf-8"), re.S)
    smallest = blocks[0]
    assert len(blocks) >= 2
    for block in blocks:
        text = block if block == smallest else smallest + block
        assert read_lesson(text, "docs").title
        VALIDATOR.validate(tomllib.loads(text))


def test_the_demonstration_lesson_validates() -> None:
    """An editor that uses the schema finds nothing wrong in it."""
    VALIDATOR.validate(tomllib.loads(DEMO.read_text(encoding="utf-8")))


@given(lessons())
def test_every_written_lesson_validates(lesson: Lesson) -> None:
    """What the program writes, the schema accepts."""
    VALIDATOR.validate(tomllib.loads(write_lesson(lesson)))


@pytest.mark.parametrize("file", sorted(MADE["BROKEN"].glob("type-*.toml")), ids=lambda file: file.stem)
def test_the_schema_refuses_wrong_types(file: Path) -> None:
    """Editors show slips of type before the program does."""
    assert not VALIDATOR.is_valid(tomllib.loads(file.read_text(encoding="utf-8")))


@pytest.mark.parametrize("options", STARTERS, ids=str)
def test_a_starting_lesson_can_be_built(options: dict[str, Any]) -> None:
    """It reads, validates and plans, whatever it is begun with."""
    text = start(options)
    VALIDATOR.validate(tomllib.loads(text))
    planned = plan(read_lesson(text, "new.toml"), file="new.toml", text=text)
    assert planned.exercises


@pytest.mark.parametrize("section", SECTIONS)
def test_a_starting_lesson_explains_every_key(section: str) -> None:
    """Each key stands in it, in use or as a remark."""
    text = start({})
    body = text.partition(f"\n[{section}]\n")[2].partition("\n[")[0]
    for key in SECTIONS[section].model_fields:
        if key != "written":
            assert re.search(rf"(?m)^(# )?{key} = ", body)
    assert "# [[motifs.written]]" in text


REMARKS = [match[1] for match in re.finditer(r"(?m)^# (\w+) = ", starter("T", "A"))]
NEED = {"string": 'style = "one string"', "notes_per_string": 'style = "three per string"'}


TOGETHER = {
    "degrees",
    "cycle",
    "name",
    "form",
    "key",
    "file",
    "taps",
    "beats",
    "choruses",
    "stretch",
    "first_bar",
    "first_beat",
}


@pytest.mark.parametrize("key", [key for key in dict.fromkeys(REMARKS) if key not in TOGETHER])
def test_a_remark_put_in_use_is_good(key: str) -> None:
    """Taking away the # before an example key gives a lesson that reads."""
    text = re.sub(rf"(?m)^# ({key} = )", r"\1", start({}), count=1)
    if key in NEED:
        text = text.replace('style = "box"', NEED[key])
    assert read_lesson(text, "new.toml").title == "Three notes"


def test_the_example_of_a_form_is_good_in_place_of_a_chart() -> None:
    """The chords are given one way or the other."""
    text = re.sub(r"(?m)^# ((?:form|key) = )", r"\1", start({}))
    with pytest.raises(LessonError, match="not by both"):
        read_lesson(text, "new.toml")
    assert len(read_lesson(re.sub(r'(?s)chart = """.*?"""', "", text), "new.toml").chart.bars) == 12


@pytest.mark.parametrize("keys", ["file|taps|choruses|stretch|first_bar|first_beat", "file|beats"])
def test_the_example_of_a_recording_is_good(keys: str) -> None:
    """With taps or with a beats file."""
    text = re.sub(rf"(?m)^# ((?:{keys}) = )", r"\1", start({}))
    found = read_lesson(text, "new.toml").recording
    assert found is not None
    assert found.file == "my-track.flac"


def test_the_example_of_degrees_is_good_in_place_of_a_kind() -> None:
    """A scale is given one way or the other."""
    text = re.sub(r"(?m)^# (degrees = \"1 b3 4 5 b7\")", r"\1", start({}), count=1)
    with pytest.raises(LessonError, match="not by both"):
        read_lesson(text, "new.toml")
    assert read_lesson(re.sub(r'(?m)^kind = "minor-pentatonic"\n', "", text), "new.toml").scale.kind.id == "custom"


def test_the_example_of_a_written_motif_is_good() -> None:
    """The four remark lines of the block can be put in use together."""
    text = start({})
    block = text[text.index("# [[motifs.written]]") :].partition("\n\n")[0]
    assert read_lesson(text.replace(block, block.replace("# ", "")), "new.toml").shelf.written[0].text == "1 b3 4"

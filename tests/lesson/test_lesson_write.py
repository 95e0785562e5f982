"""Lessons written as text and read back."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from lesson_strategies import LINES, lessons

from phrasewright.lesson.model import Lesson
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.write import toml_lines, toml_number, toml_text, write_lesson


@given(lessons())
def test_a_lesson_survives_write_and_read(lesson: Lesson) -> None:
    """Reading what was written gives the same lesson."""
    assert read_lesson(write_lesson(lesson), "lesson.toml") == lesson


@given(lessons())
def test_writing_again_changes_nothing(lesson: Lesson) -> None:
    """The written form is stable, so that version control shows only what a teacher changed."""
    once = write_lesson(lesson)
    assert write_lesson(read_lesson(once, "lesson.toml")) == once


@given(LINES)
def test_any_text_survives_on_one_line_and_on_several(text: str) -> None:
    """Quotes and backslashes are written so that the standard parser reads them back."""
    text = f'{text}"""\\n\x7f{text}"'
    assert tomllib.loads(f"a = {toml_text(text)}")["a"] == text
    assert tomllib.loads(f"a = {toml_lines(text.replace(chr(127), ''))}")["a"].strip("\n") == text.replace(chr(127), "")


@pytest.mark.parametrize(("value", "text"), [(60, "60"), (60.0, "60"), (0.4, "0.4"), (647.7, "647.7")])
def test_numbers_are_written_as_people_do(value: float, text: str) -> None:
    """No decimal point where nothing stands behind it."""
    assert toml_number(value) == text

"""A lesson's text as it is being worked on: its values, its plan or its problems, each at its key and letter."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from phrasewright.app.planning import plan_source
from phrasewright.app.source import LessonSource
from phrasewright.errors import LessonError, PhrasewrightError, Problem
from phrasewright.lesson.plan import LessonPlan
from phrasewright.lesson.schema import SECTIONS
from phrasewright.lesson.syntax import parse_toml
from phrasewright.lesson.toml_text import KeyPath, TomlIndex, index_toml

_PART = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedProblem:
    """One thing wrong. path: the key, empty = the whole lesson; at: the 0-based letter of a text value, where known."""

    what: str
    hint: str
    path: tuple[str | int, ...]
    at: int | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a text says. values: by section and key, usual ones included; written: the keys that stand in the text."""

    source: LessonSource
    values: Mapping[str, Mapping[str, Any]]
    written: frozenset[tuple[str, str]]
    problems: tuple[PlacedProblem, ...] = ()
    plan: LessonPlan | None = field(default=None, repr=False)

    @property
    def title(self) -> str:
        """The lesson's title, empty when it has none."""
        title = self.values["lesson"].get("title")
        return title if isinstance(title, str) else ""


def read_text(source: LessonSource, text: str) -> Reading:
    """Read and plan a lesson whose text is this; whatever is wrong with it is in the reading."""
    problems: tuple[PlacedProblem, ...] = ()
    plan = None
    try:
        plan = plan_source(source)
    except LessonError as error:
        index = _index(text)
        problems = tuple(_placed(problem, index) for problem in error.problems)
    except PhrasewrightError as error:
        problems = (PlacedProblem(what=error.message, hint=error.hint, path=()),)
    data = _data(text)
    return Reading(
        source=source,
        values={name: _usual(name) | _section(data, name) for name in SECTIONS},
        written=frozenset((name, key) for name in SECTIONS for key in _section(data, name)),
        problems=problems,
        plan=plan,
    )


def key_path(words: str) -> KeyPath:
    """The path that a problem names in words: ``study.pins[2]``; list positions count from 1 there."""
    return tuple(int(number) - 1 if number else name for name, number in _PART.findall(words))


def _data(text: str) -> Mapping[str, Any]:
    try:
        return parse_toml(text.removeprefix("\ufeff"), "").data
    except LessonError:
        return {}


def _section(data: Mapping[str, Any], name: str) -> dict[str, Any]:
    found = data.get(name)
    return {key: _plain(value) for key, value in found.items()} if isinstance(found, dict) else {}


def _plain(value: Any) -> Any:
    """A value that JSON knows; dates and the like as text."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_plain(one) for one in value]
    is_known = isinstance(value, str | int) or (isinstance(value, float) and isfinite(value))
    return value if is_known else str(value)


def _usual(name: str) -> dict[str, Any]:
    return {
        key: None if field.is_required() else field.get_default(call_default_factory=True)
        for key, field in SECTIONS[name].model_fields.items()
    }


def _index(text: str) -> TomlIndex | None:
    try:
        return index_toml(parse_toml(text.removeprefix("\ufeff"), "").text)
    except LessonError:
        return None


def _placed(problem: Problem, index: TomlIndex | None) -> PlacedProblem:
    path = key_path(problem.where)
    return PlacedProblem(
        what=problem.what,
        hint=problem.hint,
        path=path,
        at=_letter(problem, path, index),
        line=problem.line,
    )


def _letter(problem: Problem, path: KeyPath, index: TomlIndex | None) -> int | None:
    """The letter of a text value that a problem's line and column point at; None when they point at none inside it."""
    letters = index.characters.get(path) if index else None
    if index is None or not letters or problem.line is None or problem.column is None:
        return None
    offset = index.line_starts[problem.line - 1] + problem.column - 1
    if not letters[0] <= offset <= letters[-1]:
        return None
    return bisect_left(letters, offset)

"""Check the shape of a lesson's values against the schema, and say every mismatch in a teacher's words.

A key that is wrong is taken out and the rest is checked again, so that what can be read is read and one reading
reports all that is wrong.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from phrasewright.lesson.desk import Desk, path_text
from phrasewright.lesson.schema import SECTIONS, LessonFile, Section, WrittenMotif
from phrasewright.lesson.toml_text import KeyPath

_KINDS: tuple[tuple[type | tuple[type, ...], str], ...] = (
    (bool, "true or false"),
    (str, "text"),
    (int, "a whole number"),
    (float, "a number with a decimal point"),
    (list, "a list"),
    (dict, "a section"),
    ((datetime.date, datetime.time), "a date or time"),
)
_WANTED = {
    "string_type": ("text", 'Put it in quotes: {key}"{text}".'),
    "int_type": ("a whole number", "Write it in digits without quotes or decimal point, for instance {key}{example}."),
    "float_type": ("a number", "Write it in digits without quotes, for instance {key}{example}."),
    "bool_type": ("true or false", "Write {key}true or {key}false, without quotes."),
    "list_type": ("a list", "Put it between square brackets: {key}[{written}]."),
    "model_type": ("a block of its own", "Begin it with [[{path}]] and write its keys under that line."),
}
_EXAMPLES = {"scale_length_mm": "648", "max_stretch_mm": "110"}
_COUNTED = {
    "tempos": "tempo",
    "sizes": "motif size",
    "cycles": "cycle",
    "bars": "number of bars",
    "frets": "number of frets",
    "choruses": "number of choruses",
    "shelf": "number of motifs",
    "notes_per_string": "number of notes per string",
    "added_above": "number of added notes",
    "added_below": "number of added notes",
    "space": "share of silence",
    "most_space": "share of silence",
    "studies": "number of studies",
    "longest_run": "run",
    "difficulty": "difficulty",
    "hardest": "difficulty",
}


def shape_lesson(data: Mapping[str, Any], desk: Desk) -> LessonFile:
    """The values of a lesson by section. Wrong ones are noted on the desk and replaced by their defaults."""
    meant: set[KeyPath] = set()
    for name in data:
        if name not in SECTIONS:
            meant.add(_unknown_section(name, data[name], desk))
    return LessonFile.model_validate({name: _shape_section(name, data, desk, meant) for name in SECTIONS})


def _unknown_section(name: str, value: object, desk: Desk) -> KeyPath:
    """Report it; gives the path that was probably meant."""
    owner = _section_of(name)
    if not isinstance(value, dict) and owner:
        desk.wrong_key((name,), f'"{name}" stands outside its section', f"Write it under the line [{owner}].")
        return (owner, name)
    close = get_close_matches(name.lower(), SECTIONS, n=1, cutoff=0.6)
    known = f"The sections are {', '.join(f'[{section}]' for section in SECTIONS)}."
    hint = f"Did you mean [{close[0]}]?" if close else known
    what = f"there is no section [{name}]" if isinstance(value, dict) else f'there is no key "{name}"'
    desk.wrong_key((name,), what, hint)
    return (close[0],) if close else ()


def _section_of(key: str) -> str:
    return next((name for name, model in SECTIONS.items() if key in model.model_fields), "")


def _shape_section(name: str, data: Mapping[str, Any], desk: Desk, meant: set[KeyPath]) -> Section:
    model = SECTIONS[name]
    values = data.get(name, {})
    if not isinstance(values, dict):
        brackets = "single brackets and only once" if isinstance(values, list) else "brackets on a line of its own"
        desk.wrong_key((name,), f"{name} is a section, not a value", f"Write [{name}] with {brackets}.")
        meant.add((name,))
        values = {}
    try:
        return model.model_validate(values)
    except ValidationError as error:
        details = error.errors(include_url=False)
    for detail in sorted(details, key=lambda detail: detail["type"] == "missing"):
        _report((name, *detail["loc"]), detail, model, desk, meant)
    bad = {detail["loc"][0] for detail in details}
    return model.model_validate(_mended(model, values, bad))


def _mended(model: type[Section], values: Mapping[str, Any], bad: set[int | str]) -> dict[str, Any]:
    """The values without the wrong keys; required ones get their placeholder."""
    kept = {key: value for key, value in values.items() if key not in bad}
    return kept | {key: value for key, value in model.placeholders.items() if key in bad}


def _report(path: KeyPath, detail: ErrorDetails, model: type[Section], desk: Desk, meant: set[KeyPath]) -> None:
    kind, key = detail["type"], str(next(part for part in reversed(path) if isinstance(part, str)))
    if kind == "missing":
        if path in meant or path[:1] in meant or desk.is_wrong(*path):
            desk.wrong.add(path)
        else:
            _report_missing(path, key, desk)
    elif kind == "extra_forbidden":
        meant.add(_report_unknown(path, key, WrittenMotif if len(path) > 2 else model, desk))
    elif kind in _WANTED:
        _report_kind(path, key, detail, desk)
    else:
        what, hint = _out_of_range(kind, key, detail.get("ctx", {}), detail["input"])
        desk.wrong_value(path, what, hint)


def _line_of(path: KeyPath) -> str:
    """The line that opens the section or block a key stands in."""
    return f"[{path[0]}]" if len(path) == 2 else f"[[{path[0]}.{path[1]}]]"


def _report_missing(path: KeyPath, key: str, desk: Desk) -> None:
    examples = {"title": 'title = "Three notes"', "root": 'root = "E"', "degrees": 'degrees = "1 b3 4"'}
    where = _line_of(path)
    missing = f'"{key}" is missing' if desk.index.key(path) else f'the section {where} with its "{key}" is missing'
    desk.wrong_key(path, missing, f"Write {examples[key]} under the line {where}.")


def _report_unknown(path: KeyPath, key: str, model: type[Section], desk: Desk) -> KeyPath:
    """Report it; gives the path that was probably meant."""
    owner = _section_of(key)
    close = get_close_matches(key.lower().replace("-", "_"), model.model_fields, n=1, cutoff=0.6)
    if owner and owner != path[0]:
        hint = f"Write it under the line [{owner}]."
    elif close:
        hint = f'Did you mean "{close[0]}"?'
    else:
        hint = f"Its keys are {', '.join(model.model_fields)}."
    desk.wrong_key(path, f'{_line_of(path)} has no key "{key}"', hint)
    return (*path[:-1], close[0]) if close else ()


def _report_kind(path: KeyPath, key: str, detail: ErrorDetails, desk: Desk) -> None:
    value = detail["input"]
    wanted, hint = _WANTED[detail["type"]]
    if isinstance(value, dict) and path == ("motifs", "written"):
        hint = "Write [[motifs.written]] with double brackets; each such line begins one motif."
    elif isinstance(value, dict | list) and detail["type"] != "model_type":
        hint = "Write one value here, or leave the key out."
    written = f'"{value}"' if isinstance(value, str) else str(value).lower()
    words = {
        "key": "" if isinstance(path[-1], int) else f"{key} = ",
        "path": path_text(path[:-1]) if isinstance(path[-1], int) else path_text(path),
        "text": str(value).replace('"', "'"),
        "written": written,
        "example": "0.4" if key == "space" else "4" if "int" in detail["type"] else _EXAMPLES.get(key, "60"),
    }
    desk.wrong_value(path, f"this should be {wanted}, but it is {_kind_of(value)}", hint.format(**words))


def _kind_of(value: object) -> str:
    return next((name for kind, name in _KINDS if isinstance(value, kind)), "something else")


def _out_of_range(kind: str, key: str, context: Mapping[str, Any], value: object) -> tuple[str, str]:
    match kind:
        case "greater_than_equal":
            return f"{value} is too small", f"The smallest {_singular(key)} is {_number(context['ge'])}."
        case "less_than_equal":
            return f"{value} is too large", f"The largest {_singular(key)} is {_number(context['le'])}."
        case "string_too_short":
            return f"the {key} is empty", "Write at least one word between the quotes."
        case "string_too_long":
            return f"the {key} is {len(str(value))} characters long", f"Keep it within {context['max_length']}."
        case "too_short":
            return f"the list {key} is empty", "Write at least one entry, or leave the key out for the usual ones."
        case "too_long":
            return f"the list {key} has {context['actual_length']} entries", f"Keep {context['max_length']} at most."
        case "finite_number":
            return "this is not a number one can count to", "Write it in digits."
    return f"this value is not accepted: {kind.replace('_', ' ')}", "Look the key up in docs/lesson-file.md."


def _singular(key: str) -> str:
    return _COUNTED.get(key, key.removesuffix("_mm").replace("_", " "))


def _number(limit: float) -> str:
    return f"{limit:g}" if limit < 1000 else str(int(limit))

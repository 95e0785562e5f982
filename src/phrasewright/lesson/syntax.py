"""From bytes to TOML values, with syntax errors in plain words.

The standard parser stops at the first slip of syntax. Its message is replaced by what a teacher can act on, and what
was left open is shown where it begins. A slip that spoils one ``key = value`` line only is taken out and the rest is
read on, so that the other problems of the file are found too.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from phrasewright.errors import LessonError, Problem
from phrasewright.lesson.toml_text import KeyPath, Spot, TomlIndex, opening_of

MAX_CHARACTERS = 1_000_000
_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)")

MOST_SLIPS = 20  # slips of syntax read past
_KEY = re.compile(r"\s*([A-Za-z_][\w-]*)")
_HEADER = re.compile(r"\s*\[\[?([\w. -]+)\]")
_BRACKETS = re.compile(r"(?:[\[{]\s*){50}")
_CLOSE = "Put the same quotes at its end as at its beginning."
_KEY_OR_SECTION = "Write key = value, or a section name such as [scale]; begin remarks with #."
_BACKSLASH = "a backslash has a meaning of its own in text between double quotes"
# what the parser says (a part of it) -> what is wrong, how to mend it
_PLAIN = (
    ("Unclosed array", "this list is not closed", "Put commas between its entries and ] after the last one."),
    ("Unclosed inline table", "this { is not closed", "Put commas between its entries and } after the last one."),
    ("Unterminated string", "this text is never closed", _CLOSE),
    ("Expected \"'", "this text is never closed", _CLOSE),
    ("Expected '\"", "this text is never closed", _CLOSE),
    (
        "Illegal character '\\n'",
        "this text is not closed on its line",
        "Put the closing quote, or use triple quotes for text of several lines.",
    ),
    ("Illegal character", "there is a character here that cannot be seen or printed", "Delete it."),
    ("invalid character", "there is a character here that cannot be seen or printed", "Delete it."),
    (
        "Expected '='",
        "there is no = behind this key",
        'Write key = value, for instance title = "Three notes"; begin remarks with #.',
    ),
    ("Invalid initial character for a key part", "a key is expected here", _KEY_OR_SECTION),
    ("Invalid statement", "this line is neither a key nor a section", _KEY_OR_SECTION),
    (
        "Invalid value",
        "this value cannot be read",
        'Put words and notes in quotes: root = "E". Write numbers in digits.',
    ),
    (
        "Expected newline or end of document",
        "something is left over behind the value",
        'Put words, notes and meters in quotes ("4/4"), each key on its own line, and # before remarks.',
    ),
    ("Cannot overwrite a value", "this key is written twice in the same section", "Keep one of the two."),
    ("Duplicate inline table key", "a key is written twice between these { }", "Keep one of the two."),
    ("Cannot declare", "this section is written twice", "Move its keys under the first one."),
    ("Cannot mutate immutable namespace", "this was closed further up", "Keep all its keys in one place."),
    ("Cannot redefine namespace", "this key is also a section", "Keep one of the two."),
    ("Expected ']' at the end of a table", "this section name has no closing bracket", "Write it as [scale]."),
    (
        "Expected ']]' at the end of an array",
        "this block name has no closing brackets",
        "Write it as [[motifs.written]].",
    ),
    ("Unescaped '\\' in a string", _BACKSLASH, "Write \\\\ for one backslash."),
    ("Invalid hex value", _BACKSLASH, "Write \\\\ for one backslash."),
    ("not a Unicode scalar value", _BACKSLASH, "Write the character itself."),
    ("Invalid date or datetime", "this is no date", "Put it in quotes if it is text."),
    ("Exceeds the limit", "this number is too long", "Is it text? Then put it in quotes."),
)
_WRITTEN_TWICE = ("Cannot overwrite", "Cannot declare", "Cannot mutate", "Cannot redefine")
_CURLY_QUOTES = "“”„‘’‚«»"


def decode_lesson(data: bytes, file: str) -> str:
    """The text of a lesson file: UTF-8, with or without a byte order mark. Raises LessonError otherwise."""
    if len(data) > 4 * MAX_CHARACTERS:
        raise LessonError(file, (_too_large(),))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", errors="replace")
        spot = TomlIndex(before).spot(len(before))
        problem = Problem(
            what="the file is not saved as UTF-8 text",
            hint="Save it again in your editor with the encoding UTF-8.",
            line=spot.line,
            column=spot.column,
        )
        raise LessonError(file, (problem,)) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Parsed:
    """What could be parsed. text: with spoiled lines emptied, so that places stay; lost: keys that stood on them."""

    text: str
    data: dict[str, Any]
    problems: tuple[Problem, ...]
    lost: tuple[KeyPath, ...]


def parse_toml(text: str, file: str) -> Parsed:
    """The values of a TOML text and its syntax problems. Raises LessonError when it cannot be read to its end."""
    if len(text) > MAX_CHARACTERS:
        raise LessonError(file, (_too_large(),))
    text = text.replace("\r\n", "\n")
    problems: list[Problem] = []
    lost: list[KeyPath] = []
    while True:
        try:
            data = tomllib.loads(text)
        except RecursionError:
            raise LessonError(file, (*problems, _too_deep(text))) from None
        except ValueError as error:  # TOMLDecodeError, and numbers of thousands of digits
            problem = _syntax_problem(text, str(error))
        else:
            return Parsed(text=text, data=data, problems=tuple(problems), lost=tuple(lost))
        problems.append(problem)
        key = _key_on_line(text, problem.line or 1)
        if key is None or len(problems) == MOST_SLIPS:
            raise LessonError(file, tuple(problems))
        lost.append(key)
        lines = text.split("\n")
        lines[(problem.line or 1) - 1] = ""
        text = "\n".join(lines)


def _key_on_line(text: str, number: int) -> KeyPath | None:
    """The path of the key on a line (from 1); None when the line is no whole ``key = value``."""
    lines = text.split("\n")
    line = lines[number - 1]
    match = _KEY.match(line)
    if match is None or '"""' in line or "'''" in line or any(line.count(a) != line.count(b) for a, b in ("[]", "{}")):
        return None
    headers = (_HEADER.match(before) for before in reversed(lines[: number - 1]))
    header = next((found[1] for found in headers if found), "")
    return (*(part.strip() for part in header.split(".") if part.strip()), match[1])


def _too_large() -> Problem:
    return Problem(
        what="the file is larger than a lesson can be (1 MB)",
        hint="Is this the right file? A lesson is a page or two of text.",
    )


def _too_deep(text: str) -> Problem:
    row = _BRACKETS.search(text)
    spot = TomlIndex(text).spot(row.start() if row else 0)
    hint = "Look for brackets that are opened and never closed."
    return Problem(what="brackets are nested too deeply", hint=hint, line=spot.line, column=spot.column)


def _syntax_problem(text: str, message: str) -> Problem:
    spot = _spot(text, message)
    what, hint = _in_plain_words(message)
    here = text.split("\n")[spot.line - 1][spot.column - 1 : spot.column]
    if here and here in _CURLY_QUOTES:
        what, hint = f"{here} is a typographic quote", "Use straight quotes, \" or '."
    return Problem(what=what, hint=hint, line=spot.line, column=spot.column)


def _spot(text: str, message: str) -> Spot:
    """Where to look: what was left open, the line written twice, or the parser's own place."""
    place = _PLACE.search(message)
    at_end = not (place and place[1])
    if at_end or "'\\n'" in message:
        opened = opening_of(text)
        if opened is not None:
            return TomlIndex(text).spot(opened)
    if place and place[1] and "Unclosed" in message:
        lines = text.split("\n")
        read = "\n".join([*lines[: int(place[1]) - 1], lines[int(place[1]) - 1][: int(place[2]) - 1]])
        opened = opening_of(read)
        if opened is not None and "\n" in read[opened:]:
            return TomlIndex(text).spot(opened)
    body = text.rstrip()
    spot = TomlIndex(body).spot(len(body)) if at_end or place is None else Spot(int(place[1]), int(place[2]))
    if any(words in message for words in _WRITTEN_TWICE):
        line = text.split("\n")[spot.line - 1]
        return Spot(spot.line, len(line) - len(line.lstrip()) + 1)
    return spot


def _in_plain_words(message: str) -> tuple[str, str]:
    for part, what, hint in _PLAIN:
        if part in message:
            return what, hint
    return f"this is not TOML: {_PLACE.sub('', message)}", 'Write key = value, for instance title = "Three notes".'

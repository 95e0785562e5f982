"""Change single values of a lesson's text and leave all else as it stands: remarks, order, the teacher's own spacing.

A change names a key by its path, ``("band", "tempos")``, and gives its new value, or None to take it out, so that the
usual holds again. The blocks under ``motifs.written`` are named by their number, ``("motifs", "written", 0)``; the
number after the last adds one. A key that a remark holds ready, ``# bars = 8``, is written in the remark's place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from phrasewright.errors import LessonError
from phrasewright.lesson.schema import SECTIONS, WrittenMotif
from phrasewright.lesson.syntax import parse_toml
from phrasewright.lesson.toml_text import KeyPath, TomlIndex, index_toml
from phrasewright.lesson.write import toml_lines, toml_list, toml_number, toml_text

Plain = str | bool | int | float | Sequence["Plain"] | Mapping[str, "Plain"]
BLOCKS = ("motifs", "written")
_HEADER = re.compile(r"^[ \t]*\[", re.MULTILINE)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One key and its new value; None takes it out. Raises ValueError for a key that no lesson has."""

    path: KeyPath
    value: Plain | None

    def __post_init__(self) -> None:
        if not _is_known(self.path):
            raise ValueError(f"no lesson has a key {'.'.join(map(str, self.path))}")


def _is_known(path: KeyPath) -> bool:
    match path:
        case (str(section), str(key)):
            return section in SECTIONS and key in SECTIONS[section].model_fields and path != BLOCKS
        case ("motifs", "written", int(number)):
            return number >= 0
        case ("motifs", "written", int(number), str(key)):
            return number >= 0 and key in WrittenMotif.model_fields
    return False


def change_text(text: str, changes: Iterable[Change], *, file: str = "lesson") -> str:
    """The text with every change made, one after the other. Raises LessonError when the text is no TOML."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    for change in changes:
        problems = parse_toml(text, file).problems
        if problems:
            raise LessonError(file, problems)
        index = index_toml(text)
        text = _take_out(index, change.path) if change.value is None else _put(index, change.path, change.value)
    return text


def value_text(value: Plain) -> str:
    """A value as TOML; text of several lines between triple quotes, its last line ended."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return toml_lines(value.rstrip("\n")) if "\n" in value and not _CONTROL.search(value) else toml_text(value)
    if isinstance(value, int | float):
        return toml_number(value)
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {value_text(one)}' for key, one in value.items())} }}"
    return toml_list(map(value_text, value))


def _put(index: TomlIndex, path: KeyPath, value: Plain) -> str:
    text = index.text
    if path in index.values:
        return text[: index.values[path]] + value_text(value) + text[index.ends[path] :]
    if len(path) > 2 and BLOCKS in index.values:
        return _in_list(index, path, value)
    if len(path) == 3:
        return _add_block(index, value) if isinstance(value, Mapping) else text
    line = f"{path[-1]} = {value_text(value)}"
    table = path[:-1]
    if table in index.values:  # an inline table
        at = index.values[table] + 1
        is_empty = text[at:].lstrip()[:1] == "}"
        return f"{text[:at]} {line}{' ' if is_empty else ','}{text[at:]}"
    if table in index.keys and text[index.keys[table]] == "[":
        return _under_header(index, table, str(path[-1]), line)
    dotted = [end for known, end in index.ends.items() if known[: len(table)] == table]
    if dotted and table in index.keys and not _HEADER.search(text[: index.keys[table]]):
        at = _end_of_line(text, max(dotted))
        return f"{text[:at]}\n{table[0]}.{line}{text[at:]}"
    return f"{text.rstrip()}\n\n[{table[0]}]\n{line}\n".lstrip("\n")


def _under_header(index: TomlIndex, table: KeyPath, key: str, line: str) -> str:
    """The key in place of the remark that holds it ready, else after the last key of its table."""
    text, start = index.text, index.keys[table]
    end = _end_of_table(index, start)
    ready = re.compile(rf"^#[ \t]*{re.escape(key)}[ \t]*=.*$", re.MULTILINE)
    for match in ready.finditer(text, start, end):
        if not _is_inside_a_value(index, match.start()):
            return text[: match.start()] + line + text[match.end() :]
    ends = [at for path, at in index.ends.items() if len(path) == len(table) + 1 and start < at <= end]
    at = _end_of_line(text, max(ends, default=text.index("]", start)))
    return f"{text[:at]}\n{line}{text[at:]}"


def _add_block(index: TomlIndex, value: Mapping[str, Plain]) -> str:
    text = index.text
    block = f"[[{'.'.join(BLOCKS)}]]\n" + "\n".join(f"{key} = {value_text(one)}" for key, one in value.items())
    blocks = [path for path in index.keys if path[:2] == BLOCKS and len(path) == 3]
    owner = max(blocks, default=("motifs",))
    if owner not in index.keys or text[index.keys[owner]] != "[":
        return f"{text.rstrip()}\n\n{block}\n".lstrip("\n")
    start = index.keys[owner]
    end = _end_of_table(index, start)
    at = _end_of_line(text, max((at for at in index.ends.values() if start < at <= end), default=start))
    return f"{text[:at]}\n\n{block}{text[at:]}"


def _in_list(index: TomlIndex, path: KeyPath, value: Plain | None) -> str:
    """A change of the written motifs where they stand in one inline list: the list is written anew."""
    blocks = [dict(block) for block in parse_toml(index.text, "").data["motifs"]["written"]]
    number = int(path[2])
    if len(path) == 4 and number < len(blocks):
        blocks[number] = {key: one for key, one in blocks[number].items() if key != path[3]}
        blocks[number] |= {} if value is None else {str(path[3]): value}
    elif len(path) == 3:
        blocks[number : number + 1] = [dict(value)] if isinstance(value, Mapping) else []
    at, end = index.values[BLOCKS], index.ends[BLOCKS]
    return index.text[:at] + value_text(blocks) + index.text[end:]


def _take_out(index: TomlIndex, path: KeyPath) -> str:
    text = index.text
    if len(path) > 2 and BLOCKS in index.values:
        return _in_list(index, path, None)
    if len(path) == 3 and path in index.keys:
        start = index.keys[path]
        last = max((at for at in index.ends.values() if start < at <= _end_of_table(index, start)), default=start)
        return _without_lines(text, start, last)
    if path not in index.values:
        return text
    if path[:-1] in index.values:  # inside an inline table
        before, after = text[: index.keys[path]].rstrip(), text[index.ends[path] :].lstrip()
        if after.startswith(","):
            return f"{before} {after[1:].lstrip()}"
        return f"{before.removesuffix(',')} {after}"
    return _without_lines(text, index.keys[path], index.ends[path])


def _without_lines(text: str, start: int, end: int) -> str:
    first = text.rfind("\n", 0, start) + 1
    return text[:first] + text[_end_of_line(text, end) + 1 :]


def _end_of_line(text: str, at: int) -> int:
    found = text.find("\n", at)
    return len(text) if found < 0 else found


def _end_of_table(index: TomlIndex, start: int) -> int:
    """Where the next header begins, or the text ends."""
    for match in _HEADER.finditer(index.text, start + 1):
        if not _is_inside_a_value(index, match.start()):
            return match.start()
    return len(index.text)


def _is_inside_a_value(index: TomlIndex, at: int) -> bool:
    return any(start < at < index.ends[path] for path, start in index.values.items())

"""Where everything stands in a TOML text: the line and column of each key, value and character of a string.

The standard parser reads the values; this index is laid beside it, so that a problem with a value, or with the
fifth chord inside a chart of many lines, can name the place a teacher has to mend. The text must have been
accepted by ``tomllib`` first; ``opening_of`` is the exception and finds what an unfinished text left open.

Conventions: a path is the keys and list positions that lead to a value, ``("band", "tempos", 1)``; offsets are
0-based characters of the text, lines and columns are 1-based, columns count characters.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field

KeyPath = tuple[str | int, ...]
GROOVE_FILE = ".toml"  # what the name of a groove of one's own ends in

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_INLINE_BLANK = re.compile(r"[ \t]*")
_PLAIN_VALUE = re.compile(r"[^,\]}#\n]*(?<![ \t])")
_LINE_JOIN = re.compile(r"\\[ \t]*\n[ \t\n]*")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b", '"': '"', "\\": "\\"}
_HEX_ESCAPES = {"x": 2, "u": 4, "U": 8}


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a text, 1-based."""

    line: int
    column: int


@dataclass(slots=True)
class TomlIndex:
    """Offsets of keys, of values and what follows them, and of the characters of string values in one TOML text."""

    text: str
    keys: dict[KeyPath, int] = field(default_factory=dict)
    values: dict[KeyPath, int] = field(default_factory=dict)
    ends: dict[KeyPath, int] = field(default_factory=dict)
    characters: dict[KeyPath, tuple[int, ...]] = field(default_factory=dict)
    line_starts: list[int] = field(init=False)

    def __post_init__(self) -> None:
        self.line_starts = [0, *(match.end() for match in re.finditer("\n", self.text))]

    def spot(self, offset: int) -> Spot:
        """Line and column of an offset."""
        line = bisect_right(self.line_starts, offset)
        return Spot(line, offset - self.line_starts[line - 1] + 1)

    def key(self, path: KeyPath) -> Spot | None:
        """Where a key or table is named; the nearest table that holds it when it is not there; None at the top."""
        while path and path not in self.keys and path not in self.values:
            path = path[:-1]
        if not path:
            return None
        return self.spot(self.keys[path] if path in self.keys else self.values[path])

    def value(self, path: KeyPath) -> Spot | None:
        """Where a value begins; falls back to its key, then to the table that holds it."""
        return self.spot(self.values[path]) if path in self.values else self.key(path)

    def character(self, path: KeyPath, position: int) -> Spot | None:
        """Where the character at a 0-based position of a string value stands in the file."""
        offsets = self.characters.get(path)
        return self.spot(offsets[min(position, len(offsets) - 1)]) if offsets else self.value(path)


def index_toml(text: str) -> TomlIndex:
    """Index a text that ``tomllib`` accepts; Windows line ends count as one character, as that parser reads them."""
    scanner = _Scanner(TomlIndex(text.replace("\r\n", "\n")))
    scanner.document()
    return scanner.index


def opening_of(text: str) -> int | None:
    """Offset of the quote or bracket that an unfinished text leaves open; None when it leaves none."""
    try:
        _Scanner(TomlIndex(text)).document()
    except _LeftOpenError as error:
        return error.offset
    except (ValueError, RecursionError):
        return None
    return None


class _LeftOpenError(Exception):
    """The text ended inside what began at ``offset``."""

    def __init__(self, offset: int) -> None:
        super().__init__(offset)
        self.offset = offset


@dataclass(slots=True)
class _Scanner:
    index: TomlIndex
    at: int = 0
    table: KeyPath = ()
    lists: dict[KeyPath, int] = field(default_factory=dict)  # lists of tables: how many so far

    @property
    def text(self) -> str:
        return self.index.text

    def looking_at(self, words: str) -> bool:
        return self.text.startswith(words, self.at)

    def skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def document(self) -> None:
        self.skip(_BLANK)
        while self.at < len(self.text):
            if self.looking_at("["):
                self.header()
            else:
                self.entry(self.table)
            self.skip(_BLANK)

    def header(self) -> None:
        is_list = self.looking_at("[[")
        start = self.at
        self.at += 2 if is_list else 1
        parts = [name for name, _ in self.dotted_key(start)]
        self.at += 2 if is_list else 1
        path = self.resolve(parts[:-1])
        path = (*path, parts[-1])
        if is_list:
            self.index.keys.setdefault(path, start)
            self.lists[path] = self.lists.get(path, 0) + 1
        self.table = (*path, self.lists[path] - 1) if path in self.lists else path
        self.index.keys[self.table] = start

    def resolve(self, parts: list[str]) -> KeyPath:
        path: KeyPath = ()
        for part in parts:
            path = (*path, part)
            self.index.keys.setdefault(path, self.at)
            if path in self.lists:
                path = (*path, self.lists[path] - 1)
        return path

    def entry(self, table: KeyPath) -> None:
        path = table
        for name, offset in self.dotted_key(self.at):
            path = (*path, name)
            self.index.keys.setdefault(path, offset)
        self.at += 1  # the equals sign
        self.skip(_INLINE_BLANK)
        self.value(path)

    def dotted_key(self, opened: int) -> list[tuple[str, int]]:
        parts = []
        while True:
            self.skip(_INLINE_BLANK)
            offset = self.at
            parts.append((self.simple_key(opened), offset))
            self.skip(_INLINE_BLANK)
            if not self.looking_at("."):
                return parts
            self.at += 1

    def simple_key(self, opened: int) -> str:
        if self.at >= len(self.text):
            raise _LeftOpenError(opened)
        if self.text[self.at] in "\"'":
            return self.string()[0]
        match = _BARE_KEY.match(self.text, self.at)
        if match is None:
            raise ValueError(f"no key at {self.at}")
        self.at = match.end()
        return match[0]

    def value(self, path: KeyPath) -> None:
        self.index.values[path] = self.at
        if self.looking_at("["):
            self.array(path)
        elif self.looking_at("{"):
            self.inline_table(path)
        elif self.looking_at('"') or self.looking_at("'"):
            self.index.characters[path] = self.string()[1]
        else:
            self.skip(_PLAIN_VALUE)
        self.index.ends[path] = self.at

    def array(self, path: KeyPath) -> None:
        start, number = self.at, 0
        self.at += 1
        while True:
            self.skip(_BLANK)
            if self.at >= len(self.text):
                raise _LeftOpenError(start)
            if self.looking_at("]"):
                self.at += 1
                return
            if self.looking_at(","):
                self.at += 1
                continue
            before = self.at
            self.value((*path, number))
            if self.at == before:
                raise ValueError(f"no value at {self.at}")
            number += 1

    def inline_table(self, path: KeyPath) -> None:
        start = self.at
        self.at += 1
        while True:
            self.skip(_BLANK)
            if self.at >= len(self.text):
                raise _LeftOpenError(start)
            if self.looking_at("}"):
                self.at += 1
                return
            if self.looking_at(","):
                self.at += 1
                continue
            self.entry(path)

    def string(self) -> tuple[str, tuple[int, ...]]:
        """Read a string; gives its text and the offset of each character, with the closing quote's at the end."""
        start, quote = self.at, self.text[self.at]
        if self.looking_at(quote * 3):
            self.at += 3
            self.at += self.looking_at("\n")
            return self.string_body(start, quote, quote * 3)
        self.at += 1
        return self.string_body(start, quote, quote)

    def string_body(self, start: int, quote: str, close: str) -> tuple[str, tuple[int, ...]]:
        letters: list[str] = []
        offsets: list[int] = []
        while not self.looking_at(close):
            if self.at >= len(self.text) or (len(close) == 1 and self.looking_at("\n")):
                raise _LeftOpenError(start)
            offset = self.at
            letter = self.escape(len(close) == 3) if quote == '"' and self.looking_at("\\") else self.text[self.at]
            self.at += self.at == offset
            offsets.extend([offset] * len(letter))
            letters.append(letter)
        while len(close) == 3 and self.text.startswith(quote, self.at + 3):  # quotes that belong to the text
            letters.append(quote)
            offsets.append(self.at)
            self.at += 1
        offsets.append(self.at)
        self.at += len(close)
        return "".join(letters), tuple(offsets)

    def escape(self, in_many_lines: bool) -> str:
        """Read one escape, moving past it; a line join gives nothing."""
        join = _LINE_JOIN.match(self.text, self.at) if in_many_lines else None
        if join:
            self.at = join.end()
            return ""
        sign = self.text[self.at + 1 : self.at + 2]
        digits = _HEX_ESCAPES.get(sign, 0)
        code = self.text[self.at + 2 : self.at + 2 + digits]
        self.at += 2 + digits
        return chr(int(code, 16)) if digits else _ESCAPES.get(sign, "")

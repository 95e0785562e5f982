"""The desk a lesson file is read at: its text, its places, and the problems found so far.

Every part of the reader writes its problems here, so that one reading reports them all. A key that is wrong is
remembered, and what depends on it is left alone: one slip gives one message.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from phrasewright.errors import Problem
from phrasewright.lesson.toml_text import KeyPath, Spot, TomlIndex

MOST_SHOWN = 100  # problems
LONGEST_SHOWN = 800  # characters of a message; the list of all scales is one of 560
_UNSHOWN = re.compile(r"[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]")
MIN_PART = 3  # letters of a part of a name that still point to the name


@dataclass(slots=True)
class Desk:
    """Collects problems of one file."""

    index: TomlIndex
    problems: list[Problem] = field(default_factory=list)
    wrong: set[KeyPath] = field(default_factory=set)

    def is_wrong(self, *path: str | int) -> bool:
        """Whether a problem with this key, or with something inside or around it, was found."""
        return any(path[: len(bad)] == bad or bad[: len(path)] == path for bad in self.wrong)

    def wrong_key(self, path: KeyPath, what: str, hint: str) -> None:
        """A problem with a key: it is unknown, missing or out of place."""
        self._add(path, self.index.key(path), what, hint)

    def wrong_value(self, path: KeyPath, what: str, hint: str) -> None:
        """A problem with the value of a key."""
        self._add(path, self.index.value(path), what, hint)

    def wrong_character(self, path: KeyPath, position: int, what: str, hint: str) -> None:
        """A problem inside a text value, at a 0-based character of it."""
        self._add(path, self.index.character(path, position), what, hint)

    def in_order(self) -> tuple[Problem, ...]:
        """The problems as they stand in the file, and how many more there are when they are very many."""
        problems = sorted(self.problems, key=lambda problem: (problem.line or 0, problem.column or 0))
        if len(problems) > MOST_SHOWN:
            last = problems[MOST_SHOWN]
            what = f"from here on there are {len(problems) - MOST_SHOWN} more problems"
            more = Problem(what=what, hint="Mend those above first.", line=last.line, column=last.column)
            problems[MOST_SHOWN:] = [more]
        return tuple(problems)

    def _add(self, path: KeyPath, spot: Spot | None, what: str, hint: str) -> None:
        self.wrong.add(path)
        line, column = (spot.line, spot.column) if spot else (1, 1)
        words = {"what": one_line(what), "hint": one_line(hint), "where": one_line(path_text(path))}
        self.problems.append(Problem(**words, line=line, column=column))


def one_line(text: str) -> str:
    """A message as it can be shown: no line ends, nothing a terminal would obey, not endlessly long."""
    plain = _UNSHOWN.sub("\ufffd", " ".join(text.split()))
    return plain if len(plain) <= LONGEST_SHOWN else f"{plain[: LONGEST_SHOWN - 1]}…"


def path_text(path: KeyPath) -> str:
    """A key path as people write it: ``band.tempos[1]``; list positions count from 1."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def did_you_mean(word: str, known: Iterable[str], kind: str) -> str:
    """A hint for a word that is not in a list: the nearest one, or the whole list."""
    names = list(known)
    plain = {_plain(name): name for name in names}
    wanted = _plain(word)
    inside = [name for name in plain if len(wanted) >= MIN_PART and (wanted in name or name in wanted)]
    close = get_close_matches(wanted, inside or plain, n=1, cutoff=0.0 if inside else 0.6)
    if close:
        return f'Did you mean "{plain[close[0]]}"?'
    return f"Known {kind}: {', '.join(names)}."


def _plain(word: str) -> str:
    return word.lower().replace(" ", "-").replace("_", "-")

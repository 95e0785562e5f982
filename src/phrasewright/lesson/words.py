"""Reading words inside the text values of a lesson: choices, notes, degrees; each problem at its own letter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from phrasewright.compose.rules.single import Spot
from phrasewright.lesson.desk import Desk, did_you_mean
from phrasewright.lesson.toml_text import KeyPath
from phrasewright.theory.interval import Degree
from phrasewright.theory.scale import Scale

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufffe\uffff]")  # also what XML forbids
_NO_OTHERS: Mapping[str, str] = {}


def words_of(text: str) -> Iterator[tuple[str, int]]:
    """Words of a text with their 0-based position; commas count as spaces."""
    return ((match[0], match.start()) for match in re.finditer(r"[^\s,]+", text))


def printable(path: KeyPath, text: str, desk: Desk) -> bool:
    """Whether a text can be printed and exchanged; the first letter that cannot is noted."""
    match = _UNPRINTABLE.search(text)
    if match:
        what = f"the character U+{ord(match[0]):04X} cannot be printed"
        desk.wrong_character(path, match.start(), what, "Delete it or write another one.")
    return match is None


def line_of_text(path: KeyPath, text: str, desk: Desk) -> str:
    """A text of one line, runs of spaces made one."""
    printable(path, text, desk)
    return " ".join(text.split())


def lines_of_text(path: KeyPath, text: str, desk: Desk) -> str:
    """A text of several lines, without blank ones around it."""
    printable(path, text, desk)
    return text.strip()


def choice(
    path: KeyPath, word: str, known: Iterable[str], kind: str, desk: Desk, *, others: Mapping[str, str] = _NO_OTHERS
) -> str | None:
    """One word out of a list; None after noting a problem. others: words people use -> the word of the list."""
    names = list(known)
    if word in names:
        return word
    usual = others.get(word.lower().replace(" ", "-"))
    hint = f'Write "{usual}".' if usual else did_you_mean(word, names, _plural(kind))
    desk.wrong_value(path, f'there is no {kind} "{word}"', hint)
    return None


def choices(
    path: KeyPath,
    words: Iterable[str],
    known: Iterable[str],
    kind: str,
    desk: Desk,
    *,
    others: Mapping[str, str] = _NO_OTHERS,
) -> tuple[str, ...]:
    """Several words out of a list, each once."""
    names = list(known)
    chosen: list[str] = []
    for number, word in enumerate(words):
        if word in chosen:
            twice(((*path, number)), f'"{word}"', desk)
        elif choice((*path, number), word, names, kind, desk, others=others):
            chosen.append(word)
    return tuple(chosen)


def numbers_once(path: KeyPath, numbers: Iterable[float], desk: Desk) -> None:
    """Note a problem for each number that a list has twice."""
    seen: set[float] = set()
    for place, number in enumerate(numbers):
        if number in seen:
            twice((*path, place), f"{number:g}", desk)
        seen.add(number)


def twice(path: KeyPath, entry: str, desk: Desk) -> None:
    """Note that a list has an entry twice."""
    desk.wrong_value(path, f"{entry} stands in this list twice", "Take one of them out.")


def degree_at(path: KeyPath, word: str, position: int, desk: Desk) -> Degree | None:
    """A degree inside a text value; None after noting a problem."""
    try:
        return Degree.parse(word)
    except ValueError:
        hint = "Write numbers counted from the root, with b or # before them: 1 b3 4 5 b7."
        desk.wrong_character(path, position, f'"{word}" is not a degree', hint)
        return None


def scale_degree_at(path: KeyPath, word: str, position: int, scale: Scale | None, desk: Desk) -> Degree | None:
    """A degree of the scale inside a text value, of any scale when it is not known; None after noting a problem."""
    degree = degree_at(path, word, position, desk)
    if degree is not None and scale is not None and degree not in scale.kind.degrees:
        desk.wrong_character(path, position, f"{degree} is not in {scale}", f"Its degrees are {scale.kind.formula}.")
    return degree


def spot_at(path: KeyPath, text: str, scale: Scale | None, desk: Desk) -> Spot | None:
    """A note of the position by its degree, ``1``, or ``1 cycle 2``; None after noting a problem."""
    words = list(words_of(text))
    hint = 'Write a degree, with its cycle where it matters: "1" or "1 cycle 2".'
    if not words:
        desk.wrong_value(path, "no note is named", hint)
        return None
    degree = scale_degree_at(path, *words[0], scale, desk)
    rest = [word.lower() for word, _ in words[1:] if word.lower() != "in"]
    if rest and not (len(rest) == 2 and rest[0] == "cycle" and rest[1].isdecimal() and int(rest[1]) > 0):
        desk.wrong_character(path, words[1][1], f'"{text[words[1][1] :]}" is not a cycle', hint)
        return None
    return None if degree is None else Spot(degree, int(rest[1]) if rest else None)


def spot_text(degree: Degree, cycle: int | None) -> str:
    """A note of the position as ``spot_at`` reads it."""
    return str(degree) + (f" cycle {cycle}" if cycle is not None else "")


def _plural(kind: str) -> str:
    first, _, rest = kind.partition(" ")
    return f"{first}s {rest}".strip()

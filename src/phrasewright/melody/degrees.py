"""Motifs written out by degree: ``1 b3 4`` in a cycle of a position.

The first degree is looked for in the cycle; every other one is the nearest note of its degree to the note
before (the higher of two equally near). ``^5`` asks for the nearest above, ``_5`` for the nearest below.
"""

from __future__ import annotations

from collections.abc import Sequence

from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Motif
from phrasewright.neck.place import Position
from phrasewright.theory.interval import Degree

ABOVE, BELOW = "^", "_"


class MotifTextError(ValueError):
    """A motif that cannot be read or does not lie in the position. word: the culprit; hint: how to mend it."""

    def __init__(self, message: str, *, word: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.word = word
        self.hint = hint


def motif_from_text(position: Position, text: str, cycle: int = 1) -> Motif:
    """Read ``1 b3 4`` or ``1 ^5 4``. Raises MotifTextError naming the word that is wrong."""
    return motif_from_degrees(position, text.split(), cycle)


def motif_from_degrees(position: Position, degrees: Sequence[Degree | str], cycle: int = 1) -> Motif:
    """The motif of these degrees begun in a cycle. Raises MotifTextError naming the degree that is not there."""
    words = [str(degree) for degree in degrees]
    if not MIN_NOTES <= len(words) <= MAX_NOTES:
        raise MotifTextError(
            f"a motif has {MIN_NOTES} to {MAX_NOTES} notes, this one has {len(words)}",
            hint="Split a longer line into two motifs." if words else "Write its degrees, for example 1 b3 4.",
        )
    steps = [_first(position, words[0], cycle)]
    for word in words[1:]:
        steps.append(_next(position, word, steps[-1]))
    return Motif(position, tuple(steps))


def _first(position: Position, word: str, cycle: int) -> int:
    degree = _read(word.lstrip(ABOVE + BELOW))
    places = [index for index, note in enumerate(position.notes) if note.degree == degree]
    _check_present(position, degree, word, places)
    inside = [index for index in places if position.notes[index].cycle == cycle]
    if not inside:
        cycles = sorted({position.notes[index].cycle for index in places})
        listed = " and ".join(str(number) for number in cycles)
        raise MotifTextError(
            f"cycle {cycle} of {position.name} has no {degree.printed}",
            word=word,
            hint=f"{degree.printed} lies in cycle {listed}.",
        )
    return inside[0]


def _next(position: Position, word: str, before: int) -> int:
    degree = _read(word.lstrip(ABOVE + BELOW))
    places = [index for index, note in enumerate(position.notes) if note.degree == degree]
    _check_present(position, degree, word, places)
    if word.startswith(ABOVE):
        places = [index for index in places if index > before]
    elif word.startswith(BELOW):
        places = [index for index in places if index < before]
    if not places:
        side = "above" if word.startswith(ABOVE) else "below"
        raise MotifTextError(
            f"{position.name} has no {degree.printed} {side} its {position.notes[before].degree.printed}",
            word=word,
            hint="Begin the motif in another cycle, or leave the sign away.",
        )
    return min(places, key=lambda index: (abs(index - before), -index))


def _read(word: str) -> Degree:
    try:
        return Degree.parse(word).simple
    except ValueError:
        raise MotifTextError(
            f"{word!r} is not a degree", word=word, hint="Degrees are numbers with b or #: 1, b3, #4."
        ) from None


def _check_present(position: Position, degree: Degree, word: str, places: list[int]) -> None:
    if places:
        return
    present = " ".join(str(found) for found in sorted({note.degree for note in position.notes}))
    raise MotifTextError(f"{degree.printed} is not in {position.name}", word=word, hint=f"Its degrees are {present}.")

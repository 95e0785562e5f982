"""Saying in one sentence why a motif is on the shelf."""

from __future__ import annotations

from collections.abc import Sequence

from phrasewright.melody.fit import Fit, Grade
from phrasewright.melody.motif import Contour, Motif
from phrasewright.theory.chord import Chord

NUMBER_WORDS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}
SHAPE_WORDS = {
    Contour.RISING: "rising",
    Contour.FALLING: "falling",
    Contour.ARCH: "up and back",
    Contour.DIP: "down and back",
    Contour.WAVE: "turning twice or more",
    Contour.LEVEL: "on one pitch",
}
_ALONE_WORDS = {
    Contour.RISING: "rises",
    Contour.FALLING: "falls",
    Contour.ARCH: "goes up and back",
    Contour.DIP: "goes down and back",
    Contour.WAVE: "turns so often",
    Contour.LEVEL: "stays on one pitch",
}
_GRADE_WORDS = {
    Grade.AT_HOME: "it is at home over {chord}",
    Grade.COLOURFUL: "it colours {chord}",
    Grade.LEANS: "it leans on {chord}",
    Grade.RUBS: "it rubs against {chord}",
}


def describe(motif: Motif) -> str:
    """``three notes rising, 1 ♭3 4, in cycle 1``: what a motif is, without its letter."""
    where = f"in cycle {motif.cycles[0]}" if len(motif.cycles) == 1 else _across(motif)
    return f"{NUMBER_WORDS[len(motif.steps)]} notes {SHAPE_WORDS[motif.contour]}, {motif.degrees_text}, {where}"


def reason_sentence(letter: str, motif: Motif, shelf: Sequence[Motif], best: tuple[Chord, Fit] | None) -> str:
    """Why the motif is there: what it is, what only it brings, and the chord it sits on best."""
    reasons = [words for words in (_only_words(motif, shelf), _chord_words(best)) if words]
    if not reasons:
        reasons = [_string_words(motif)]
    return f"{letter}: {describe(motif)}; {'; '.join(reasons)}."


def _only_words(motif: Motif, shelf: Sequence[Motif]) -> str:
    others = [other for other in shelf if other is not motif]
    if not others:
        return ""
    if all(other.contour is not motif.contour for other in others):
        return f"no other {_ALONE_WORDS[motif.contour]}"
    if all(len(other.steps) != len(motif.steps) for other in others):
        return f"no other has {NUMBER_WORDS[len(motif.steps)]} notes"
    if all(other.cycles != motif.cycles for other in others):
        return "no other lies there"
    return ""


def _across(motif: Motif) -> str:
    cycles = " and ".join(str(cycle) for cycle in motif.cycles)
    return f"in cycle {cycles}" if len(motif.cycles) == 1 else f"across cycles {cycles}"


def _chord_words(best: tuple[Chord, Fit] | None) -> str:
    if best is None:
        return ""
    chord, fit = best
    grade = _GRADE_WORDS[fit.grade].format(chord=chord.printed)
    return f"{grade} and lands on {fit.landing.words.removesuffix(f' of {chord.printed}')}"


def _string_words(motif: Motif) -> str:
    strings = {note.place.string for note in motif.notes}
    if len(strings) == 1:
        return f"it stays on string {strings.pop()}"
    return f"it lies on {NUMBER_WORDS[len(strings)]} strings"

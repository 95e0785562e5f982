"""Landing notes for free choice: chord tones inside the position, one for every second bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.compose.material import Material
from phrasewright.melody.fit import Role, note_fit
from phrasewright.melody.phrase import score_note
from phrasewright.melody.priors import Idiom
from phrasewright.neck.place import PositionNote
from phrasewright.score.model import Note

FREE_BARS = 1  # free bars before each landing
_NEAR_BITS_PER_SEMITONE = 0.08
_AGAIN_BITS = {"note before": 1.5, "note": 0.3, "role": 0.4}  # what a landing loses for each time it came already
_SHORT = {Role.ROOT: "root", Role.THIRD: "3rd", Role.FIFTH: "5th", Role.SEVENTH: "7th", Role.OTHER_TONE: "chord tone"}


def target_notes(material: Material, bars: int) -> tuple[Note, ...]:
    """One landing on the first beat of every second bar, half a bar long, labelled with its role."""
    notes: list[Note] = []
    targets: list[Target] = []
    for number in range(FREE_BARS, bars, FREE_BARS + 1):
        at = number * material.meter.bar
        target = target_note(material, at, targets)
        if target is not None:
            targets.append(target)
            notes.append(score_note(target.note, at, _half_bar(material), label=_SHORT.get(target.role, "")))
    return tuple(notes)


@dataclass(frozen=True, slots=True)
class Target:
    """A landing: the note of the position and its role over the chord that holds."""

    note: PositionNote
    role: Role
    worth: float  # bits


def target_note(
    material: Material, at: Fraction, targets: Sequence[Target] = (), *, near: PositionNote | None = None
) -> Target | None:
    """The chord tone of the position to land on at a time: usual over the chord, near, and other than those before.

    targets: the landings so far; near: stay close to this note, None = the middle of the position. Gives None when no
    chord holds or the position has none of its tones.
    """
    chord = material.chord_at(at)
    if chord is None:
        return None
    middle = near or material.position.notes[len(material.position.notes) // 2]
    found = []
    for note in material.position.notes:
        if chord.degree_of(note.pitch.midi) is None:
            continue
        fit = note_fit(note.pitch, chord, None, scale=material.position.scale, idiom=Idiom.JAZZ)
        worth = fit.bits - _NEAR_BITS_PER_SEMITONE * abs(note.pitch.midi - middle.pitch.midi)
        found.append(Target(note, fit.role, worth - _again_bits(note, fit.role, targets)))
    return max(found, key=lambda target: target.worth, default=None)


def _again_bits(note: PositionNote, role: Role, targets: Sequence[Target]) -> float:
    before = bool(targets) and targets[-1].note.pitch.midi == note.pitch.midi
    notes = sum(target.note.pitch.midi == note.pitch.midi for target in targets)
    roles = sum(target.role is role for target in targets)
    return (_AGAIN_BITS["note before"] if before else 0.0) + _AGAIN_BITS["note"] * notes + _AGAIN_BITS["role"] * roles


def _half_bar(material: Material) -> Fraction:
    """The first half of the bar's felt groups, the longer half in odd meters."""
    groups = material.meter.groups
    return sum(groups[: -(-len(groups) // 2)], Fraction(0))

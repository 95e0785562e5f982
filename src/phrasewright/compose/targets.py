"""Landing notes for free choice: chord tones inside the position, one for every second bar."""

from __future__ import annotations

from fractions import Fraction

from phrasewright.compose.material import Material
from phrasewright.melody.fit import Role, note_fit
from phrasewright.melody.phrase import score_note
from phrasewright.neck.place import PositionNote
from phrasewright.score.model import Note

FREE_BARS = 1  # free bars before each landing
_NEAR_BITS_PER_SEMITONE, _SAME_BITS = 0.08, 0.6
_SHORT = {Role.ROOT: "root", Role.THIRD: "3rd", Role.FIFTH: "5th", Role.SEVENTH: "7th", Role.OTHER_TONE: "chord tone"}


def target_notes(material: Material, bars: int) -> tuple[Note, ...]:
    """One landing on the first beat of every second bar, half a bar long, labelled with its role."""
    notes: list[Note] = []
    before = material.position.notes[len(material.position.notes) // 2]
    for number in range(FREE_BARS, bars, FREE_BARS + 1):
        at = number * material.meter.bar
        target = target_note(material, at, before)
        if target is None:
            continue
        notes.append(score_note(target, at, _half_bar(material), label=_label(material, target, at)))
        before = target
    return tuple(notes)


def target_note(material: Material, at: Fraction, before: PositionNote) -> PositionNote | None:
    """The chord tone of the position to land on at a time: usual over the chord, near ``before``, and not the same.

    None when no chord holds or the position has none of its tones.
    """
    chord = material.chord_at(at)
    if chord is None:
        return None
    tones = [note for note in material.position.notes if chord.degree_of(note.pitch.midi) is not None]

    def worth(note: PositionNote) -> float:
        fit = note_fit(note.pitch, chord, None, scale=material.position.scale, idiom=material.idiom)
        distance = abs(note.pitch.midi - before.pitch.midi)
        return fit.bits - _NEAR_BITS_PER_SEMITONE * distance - (_SAME_BITS if distance == 0 else 0.0)

    return max(tones, key=worth, default=None)


def _half_bar(material: Material) -> Fraction:
    """The first half of the bar's felt groups, the longer half in odd meters."""
    groups = material.meter.groups
    return sum(groups[: -(-len(groups) // 2)], Fraction(0))


def _label(material: Material, target: PositionNote, at: Fraction) -> str:
    chord = material.chord_at(at)
    if chord is None:
        return ""
    fit = note_fit(target.pitch, chord, None, scale=material.position.scale, idiom=material.idiom)
    return _SHORT.get(fit.role, "")

"""Chord symbols as MusicXML ``harmony``: root, kind, degrees, bass.

Degrees follow the schema's rule: an added degree is counted from a dominant chord (so the seventh is the minor one),
an altered or omitted degree from the one that the kind has.
"""

from __future__ import annotations

from lxml import etree

from phrasewright.engrave.xml_tree import child
from phrasewright.theory.chord import Action, Alteration, Chord
from phrasewright.theory.pitch import NoteName

NO_CHORD_TEXT = "N.C."


def add_harmony(parent: etree._Element, chord: Chord | None, *, offset: int = 0, staff: int = 0) -> etree._Element:
    """Append a ``harmony``; chord None = no chord. offset: divisions after where it stands; staff: 0 = do not say."""
    harmony = child(parent, "harmony", placement="above")
    if chord is None:
        child(child(harmony, "root"), "root-step", "C")
        child(harmony, "kind", "none", text=NO_CHORD_TEXT)
    else:
        _name(harmony, "root", chord.root)
        child(harmony, "kind", chord.kind.id, text=chord.kind.suffix.replace("b5", "♭5"))
        if chord.bass is not None:
            _name(harmony, "bass", chord.bass)
        for change in chord.alterations:
            _degree(harmony, chord, change)
    if offset:
        child(harmony, "offset", str(offset))
    if staff:
        child(harmony, "staff", str(staff))
    return harmony


def _name(parent: etree._Element, role: str, name: NoteName) -> None:
    element = child(parent, role)
    child(element, f"{role}-step", name.letter)
    if name.alter:
        child(element, f"{role}-alter", str(name.alter))


def _degree(harmony: etree._Element, chord: Chord, change: Alteration) -> None:
    action, alter = degree_change(chord, change)
    degree = child(harmony, "degree")
    child(degree, "degree-value", str(change.degree.number))
    child(degree, "degree-alter", str(alter))
    child(degree, "degree-type", str(action))


def degree_change(chord: Chord, change: Alteration) -> tuple[Action, int]:
    """The schema's type and alteration of a change; altering a degree that the kind lacks adds it."""
    present = [degree.alter for degree in chord.kind.degrees if degree.number == change.degree.number]
    if change.action is Action.ADD or not present:
        in_dominant = -1 if change.degree.number == 7 else 0
        return Action.ADD, change.degree.alter - in_dominant
    return change.action, change.degree.alter - present[0]

"""The signs of text tablature for how notes are played (common practice).

``5h7`` hammer-on, ``7p5`` pull-off, ``5/7`` and ``7\\5`` slide, ``7b9`` bend to the sound of fret 9, ``7~`` vibrato,
``x`` dead note; ``PM`` and dashes over the strings while the palm mutes.
"""

from __future__ import annotations

from collections.abc import Sequence

from phrasewright.score.model import Note
from phrasewright.score.technique import Damping, Start, Technique
from phrasewright.score.touch_rules import source_of

PALM = "PM"
_JOINS = {Start.HAMMERED: "h", Start.PULLED: "p"}
_WORDS = {
    Technique.HAMMER_ON: "h hammer-on",
    Technique.PULL_OFF: "p pull-off",
    Technique.SLIDE: "/ \\ slide",
    Technique.BEND: "7b9 bend fret 7 to the sound of fret 9",
    Technique.VIBRATO: "~ vibrato",
    Technique.PALM_MUTE: "PM palm mute",
    Technique.DEAD_NOTE: "x dead note",
}


def fret_sign(note: Note) -> str:
    """What stands at a note's own column; its fret counts as tablature does. Empty without a place."""
    if note.place is None:
        return ""
    if note.touch.damping is Damping.DEAD:
        return "x"
    bend = "" if note.touch.bend is None else f"b{note.place.fret + note.touch.bend.semitones}"
    return f"{note.place.fret}{bend}{'~' if note.touch.vibrato else ''}"


def join_sign(notes: Sequence[Note], index: int) -> str:
    """What stands right before a note that its string sounds on into; empty for any other. notes: by onset."""
    note, start = notes[index], notes[index].touch.start
    if start is not Start.SLID:
        return _JOINS.get(start, "")
    source = source_of(notes, index)
    before = None if source is None else notes[source].place
    falls = before is not None and note.place is not None and note.place.fret < before.fret
    return "\\" if falls else "/"


def legend(notes: Sequence[Note]) -> str:
    """The signs that a line uses, with their names; empty for a plain line."""
    used = {technique for note in notes for technique in note.touch.techniques}
    return "; ".join(words for technique, words in _WORDS.items() if technique in used)

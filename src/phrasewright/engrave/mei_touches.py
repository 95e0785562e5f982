"""Touches in MEI: slurs and slides on the notation staff, room over the tablature for the marks drawn there.

The engraver draws neither bends nor letters nor wavy lines on tablature, and sets slides there wrongly: all of that is
drawn later, by ``touch_marks``, in room that a tall empty word over each note of a touched bar keeps free.
"""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from phrasewright.engrave.mei_staff import XML_ID, add
from phrasewright.score.model import Note, Part
from phrasewright.score.notation import WrittenBar
from phrasewright.score.technique import PLAIN, Start
from phrasewright.score.touch_rules import source_of

ROOM = "|"  # narrow, so that neighbours do not push each other up
ROOM_SIZE = "130%"  # as tall as letters over an arc over the first string


def add_touches(measure: etree._Element, part: Part, bar: WrittenBar, last_piece: Callable[[int], str]) -> None:
    """What a bar's touches need. last_piece: note index -> id of the last written head of a note."""
    begun = [
        (index, note)
        for voice in bar.voices
        for event in voice
        if not event.tied_from
        for index, note in zip(event.indices, event.notes, strict=True)
    ]
    for index, note in begun:
        source = source_of(part.notes, index) if note.touch.is_legato else None
        if source is not None:
            _joined(measure, f"#{last_piece(source)}", f"#n{index}", note)
    if any(note.touch != PLAIN for _, note in begun):
        for index, note in begun:
            if note.place is not None:
                _room(measure, index)


def _joined(measure: etree._Element, start: str, end: str, note: Note) -> None:
    add(measure, "slur", startid=start, endid=end, curvedir="above")
    if note.touch.start is Start.SLID:
        add(measure, "gliss", startid=start, endid=end, lform="solid")


def _room(measure: etree._Element, index: int) -> None:
    word = add(measure, "dir", staff="2", place="above", startid=f"#t{index}", type="room")
    word.set(XML_ID, f"k{index}")
    add(word, "rend", ROOM, fontsize=ROOM_SIZE)

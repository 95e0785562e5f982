"""Touches in MusicXML: technical marks, slides, wavy lines, muted play and crossed heads.

The tablature staff says what the hands do: hammer-on and pull-off from note to note, slide, bend. There a bent note has
the pitch of its fret and the bend that raises it, as the format means bends; the notation staff has the pitch it
reaches. Both staves show slides, vibrato (a wavy line over the note) and dead notes (a crossed head).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from lxml import etree

from phrasewright.engrave.musicxml_notes import write_pitch
from phrasewright.engrave.xml_tree import child
from phrasewright.score.model import Note
from phrasewright.score.notation import WrittenEvent
from phrasewright.score.technique import Damping, Start
from phrasewright.score.touch_rules import fretted_pitch, source_of

_JOINS = {Start.HAMMERED: ("hammer-on", "H"), Start.PULLED: ("pull-off", "P")}


@dataclass(slots=True, kw_only=True)
class TouchMarks:
    """Writes what belongs to the touches of one part. notes: the part's."""

    notes: Sequence[Note]
    _starts: dict[int, Start] = field(init=False)  # of the legato note that a note goes on into

    def __post_init__(self) -> None:
        targets = [index for index, note in enumerate(self.notes) if note.touch.is_legato]
        sources = ((source_of(self.notes, index), index) for index in targets)
        self._starts = {source: self.notes[index].touch.start for source, index in sources if source is not None}

    def on_notation(self, notations: etree._Element, event: WrittenEvent, index: int) -> None:
        """Slurs, slides and wavy lines of one written piece of a note."""
        for kind, start in self._ends(event, index):
            child(notations, "slur", type=kind, number="1")
            self._slide(notations, kind, start)
        self._wavy(notations, event, index)

    def on_tablature(self, notations: etree._Element, event: WrittenEvent, index: int) -> None:
        """Hammer-ons, pull-offs, slides, bends and wavy lines of one written piece of a note."""
        for kind, start in self._ends(event, index):
            if start in _JOINS:
                name, letter = _JOINS[start]
                text = letter if kind == "start" else None
                child(child(notations, "technical"), name, text, type=kind, number="1")
            self._slide(notations, kind, start)
        bend = self.notes[index].touch.bend
        if bend is not None and not event.tied_from:
            child(child(child(notations, "technical"), "bend"), "bend-alter", str(bend.semitones))
        self._wavy(notations, event, index)

    def head(self, element: etree._Element, index: int, note: Note) -> None:
        """A crossed head for a dead note."""
        del index
        if note.touch.damping is Damping.DEAD:
            child(element, "notehead", "x")

    def play(self, element: etree._Element, index: int, note: Note) -> None:
        """Palm muting, for players; the last of a note's elements."""
        del index
        if note.touch.damping is Damping.PALM:
            child(child(element, "play"), "mute", "palm")

    def palm_words(self, measure: etree._Element, event: WrittenEvent) -> None:
        """``P.M.`` before the first note of a palm-muted run."""
        for index in () if event.tied_from else event.indices:
            if _is_palmed(self.notes, index) and not _is_palmed(self.notes, index - 1):
                direction = child(measure, "direction", placement="above")
                child(child(direction, "direction-type"), "words", "P.M.")
                child(direction, "staff", "2")

    def _ends(self, event: WrittenEvent, index: int) -> list[tuple[str, Start]]:
        """What stops and starts at a written piece: joins stop where a note begins and start where it ends."""
        ends = []
        start = self.notes[index].touch.start
        if not event.tied_from and self.notes[index].touch.is_legato and source_of(self.notes, index) is not None:
            ends.append(("stop", start))
        if not event.tied_to and index in self._starts:
            ends.append(("start", self._starts[index]))
        return ends

    def _slide(self, notations: etree._Element, kind: str, start: Start) -> None:
        if start is Start.SLID:
            line = {"line-type": "solid"} if kind == "start" else {}
            child(notations, "slide", type=kind, number="1", **line)

    def _wavy(self, notations: etree._Element, event: WrittenEvent, index: int) -> None:
        if not self.notes[index].touch.vibrato:
            return
        kinds = [*([] if event.tied_from else ["start"]), *([] if event.tied_to else ["stop"])]
        if kinds:
            ornaments = child(notations, "ornaments")
            for kind in kinds:
                child(ornaments, "wavy-line", type=kind, number="1")


def add_fretted_pitch(element: etree._Element, index: int, note: Note) -> None:
    """Sound: the pitch of the fret, below the written one where the note is bent."""
    del index
    write_pitch(child(element, "pitch"), fretted_pitch(note), "")


def _is_palmed(notes: Sequence[Note], index: int) -> bool:
    return index >= 0 and notes[index].touch.damping is Damping.PALM

"""Notes, rests, ties, tuplets and beams of MusicXML, from written events."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from lxml import etree

from phrasewright.engrave.xml_tree import child
from phrasewright.score.model import Note
from phrasewright.score.notation import WrittenEvent
from phrasewright.theory.pitch import Pitch

TYPES = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd", 64: "64th", 128: "128th"}
ACCIDENTALS = {
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}
Hook = Callable[[etree._Element, int, Note], None]  # adds to a note: (element, note index, note)


def _nothing(element: etree._Element, index: int, note: Note) -> None:
    """Add nothing."""
    del element, index, note


def _no_touches(element: etree._Element, event: WrittenEvent, index: int) -> None:
    """Add nothing."""
    del element, event, index


def _never(event: WrittenEvent, index: int) -> bool:
    """No accidental is printed."""
    del event, index
    return False


def _nameless(event: WrittenEvent, index: int) -> str:
    """No id."""
    del event, index
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteWriter:
    """Writes the events of one voice. divisions: per quarter note; staff: 0 = do not say.

    sound adds pitch (or what stands for it), instrument the instrument, marks what stands before the staff, notations
    and lyrics what their names say; each is called for every note written, lyrics not for tied continuations. touches
    adds to the notations what depends on where in a chain of ties a piece stands. name: the id of a note, empty = none.
    """

    divisions: int
    voice: int
    staff: int = 0
    sound: Hook
    instrument: Hook = _nothing
    accidental: Callable[[WrittenEvent, int], bool] = _never
    marks: Hook = _nothing
    notations: Hook = _nothing
    touches: Callable[[etree._Element, WrittenEvent, int], None] = _no_touches
    lyrics: Hook = _nothing
    hide_rests: bool = False
    name: Callable[[WrittenEvent, int], str] = _nameless

    def write(self, measure: etree._Element, events: Sequence[WrittenEvent], place: int) -> None:
        """Write ``events[place]``."""
        event = events[place]
        beams = beam_words(events, place)
        if event.is_rest:
            self._note(measure, events, place, None, 0, beams)
        for order, (index, note) in enumerate(zip(event.indices, event.notes, strict=True)):
            self._note(measure, events, place, note, index, beams if order == 0 else (), chord=order > 0)

    def length(self, duration: Fraction) -> int:
        """A length in divisions. Raises ValueError when it is no whole number of them."""
        ticks = duration * self.divisions
        if ticks.denominator != 1:
            raise ValueError(f"{duration} quarter notes are not a whole number of 1/{self.divisions}")
        return ticks.numerator

    def _note(
        self,
        measure: etree._Element,
        events: Sequence[WrittenEvent],
        place: int,
        note: Note | None,
        index: int,
        beams: Sequence[str],
        *,
        chord: bool = False,
    ) -> None:
        event = events[place]
        element = child(measure, "note")
        if note is None and self.hide_rests:
            element.set("print-object", "no")
        if note is not None and self.name(event, index):
            element.set("id", self.name(event, index))
        if chord:
            child(element, "chord")
        if note is None:
            child(element, "rest", **({"measure": "yes"} if event.whole_bar else {}))
        else:
            self.sound(element, index, note)
        child(element, "duration", str(self.length(event.length)))
        for kind in _tie_kinds(event):
            child(element, "tie", type=kind)
        if note is not None:
            self.instrument(element, index, note)
        child(element, "voice", str(self.voice))
        self._value(element, event)
        if note is not None and self.accidental(event, index):
            child(element, "accidental", ACCIDENTALS[note.pitch.name.alter])
        if event.tuplet is not None:
            modification = child(element, "time-modification")
            child(modification, "actual-notes", str(event.tuplet.actual))
            child(modification, "normal-notes", str(event.tuplet.normal))
        if note is not None:
            self.marks(element, index, note)
        if self.staff:
            child(element, "staff", str(self.staff))
        for level, word in enumerate(beams, start=1):
            child(element, "beam", word, number=str(level))
        self._notations(element, events, place, note, index, chord=chord)
        if note is not None and not event.tied_from:
            self.lyrics(element, index, note)

    def _value(self, element: etree._Element, event: WrittenEvent) -> None:
        if event.whole_bar:
            return
        child(element, "type", TYPES[event.value.base])
        for _ in range(event.value.dots):
            child(element, "dot")

    def _notations(
        self,
        element: etree._Element,
        events: Sequence[WrittenEvent],
        place: int,
        note: Note | None,
        index: int,
        *,
        chord: bool,
    ) -> None:
        notations = child(element, "notations")
        for kind in _tie_kinds(events[place]):
            child(notations, "tied", type=kind)
        if not chord:
            for attributes in _tuplet_marks(events, place):
                child(notations, "tuplet", number="1", **attributes)
        if note is not None:
            self.notations(notations, index, note)
            self.touches(notations, events[place], index)
        if len(notations) == 0:
            element.remove(notations)


def add_pitch(element: etree._Element, index: int, note: Note) -> None:
    """Sound: the pitch as it sounds."""
    del index
    write_pitch(child(element, "pitch"), note.pitch, "")


def write_pitch(parent: etree._Element, pitch: Pitch, prefix: str) -> None:
    """Step, alter, octave, each name behind a prefix (``tuning-``)."""
    child(parent, f"{prefix}step", pitch.name.letter)
    if pitch.name.alter:
        child(parent, f"{prefix}alter", str(pitch.name.alter))
    child(parent, f"{prefix}octave", str(pitch.octave))


def beam_words(events: Sequence[WrittenEvent], place: int) -> tuple[str, ...]:
    """MusicXML's words for the beams of an event, level by level: begin, continue, end, forward or backward hook."""
    event = events[place]
    if event.beam is None:
        return ()
    before = _flags(events[place - 1]) if place and events[place - 1].beam == event.beam else 0
    more = place + 1 < len(events) and events[place + 1].beam == event.beam
    after = _flags(events[place + 1]) if more else 0
    words = []
    for level in range(1, _flags(event) + 1):
        if before >= level and after >= level:
            words.append("continue")
        elif before >= level:
            words.append("end")
        elif after >= level:
            words.append("begin")
        else:
            words.append("backward hook" if before else "forward hook")
    return tuple(words)


def _flags(event: WrittenEvent) -> int:
    return event.value.base.bit_length() - 3  # 8 -> 1, 16 -> 2


def _tie_kinds(event: WrittenEvent) -> Iterator[str]:
    if event.tied_from:
        yield "stop"
    if event.tied_to:
        yield "start"


def _tuplet_marks(events: Sequence[WrittenEvent], place: int) -> Iterator[dict[str, str]]:
    tuplet = events[place].tuplet
    if tuplet is None:
        return
    if place == 0 or events[place - 1].tuplet != tuplet:
        run = next(list(group) for key, group in groupby(events[place:], key=lambda event: event.tuplet))
        on_one_beam = len({event.beam for event in run}) == 1 and run[0].beam is not None
        yield {"type": "start", "bracket": "no" if on_one_beam else "yes"}
    if place + 1 == len(events) or events[place + 1].tuplet != tuplet:
        yield {"type": "stop"}

"""The bars of MEI: one notation staff and one tablature staff, from written events."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from lxml import etree

from phrasewright.score.model import Measure, Note, Part
from phrasewright.score.notation import WrittenBar, WrittenEvent, tab_fret
from phrasewright.score.rhythm import NoteValue, plain_value
from phrasewright.score.technique import Damping
from phrasewright.score.tuplets import Tuplet
from phrasewright.theory.pitch import Pitch

MEI = "http://www.music-encoding.org/ns/mei"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
_ACCIDENTALS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "ts"}


def add(parent: etree._Element, name: str, text: str | None = None, **attributes: str) -> etree._Element:
    """Append an MEI element; underscores in attribute names stand for dots."""
    child = etree.SubElement(
        parent, f"{{{MEI}}}{name}", {key.replace("_", "."): value for key, value in attributes.items()}
    )
    child.text = text
    return child


def pitch_attributes(pitch: Pitch) -> dict[str, str]:
    """Letter and octave of a pitch as it sounds."""
    return {"pname": pitch.name.letter.lower(), "oct": str(pitch.octave)}


def written_accidental(pitch: Pitch) -> str:
    """MEI's word for the accidental of a pitch, ``n`` for none."""
    return _ACCIDENTALS[pitch.name.alter]


def piece_numbers(bars: Iterable[WrittenBar]) -> dict[tuple[int, Fraction], int]:
    """(note index, onset of a written piece) -> its place in the note's chain of ties, from 1."""
    numbers: dict[tuple[int, Fraction], int] = {}
    written: dict[int, int] = {}
    for event in (event for bar in bars for voice in bar.voices for event in voice):
        for index in event.indices:
            written[index] = written.get(index, 0) + 1
            numbers[index, event.onset] = written[index]
    return numbers


def rest_numbers(bars: Iterable[WrittenBar]) -> dict[tuple[int, Fraction], int]:
    """(voice number, onset) of each rest -> its number in order of writing, from 1."""
    rests = (
        (number, event.onset)
        for bar in bars
        for number, voice in zip(bar.numbers, bar.voices, strict=True)
        for event in voice
        if event.is_rest
    )
    return {place: number for number, place in enumerate(rests, start=1)}


def piece_id(letter: str, index: int, piece: int) -> str:
    """Id of a written piece of a note: ``n3`` for the first, then ``n3-2``."""
    return f"{letter}{index}" if piece == 1 else f"{letter}{index}-{piece}"


@dataclass(slots=True, kw_only=True)
class Staves:
    """Writes the staves of a part bar by bar. accidentals: (bar index, note index) of those printed."""

    part: Part
    tab: bool
    bars: tuple[WrittenBar, ...]
    accidentals: frozenset[tuple[int, int]]
    _pieces: dict[tuple[int, Fraction], int] = field(init=False)
    _rests: dict[tuple[int, Fraction], int] = field(init=False)
    _chords: int = 0

    def __post_init__(self) -> None:
        self._pieces = piece_numbers(self.bars)
        self._rests = rest_numbers(self.bars)

    def next_chord(self) -> int:
        """Number of the next chord name, from 1."""
        self._chords += 1
        return self._chords

    def last_head(self, index: int) -> str:
        """Id of the last written head of a note."""
        return piece_id("n", index, max(piece for (note, _), piece in self._pieces.items() if note == index))

    def write(self, measure: etree._Element, bar_index: int) -> None:
        """Add the staves of one bar to its ``measure``."""
        bar = self.bars[bar_index]
        staff = add(measure, "staff", n="1")
        for number, voice in zip(bar.numbers, bar.voices, strict=True):
            layer = add(staff, "layer", n=str(number))
            for tuplet, run in groupby(voice, key=lambda event: event.tuplet):
                events = list(run)
                parent = layer if tuplet is None else _tuplet(layer, tuplet, events)
                self._beams(parent, bar_index, number, events)
        if self.tab:
            self._tab_staff(measure, bar)

    def _beams(self, parent: etree._Element, bar_index: int, voice: int, events: list[WrittenEvent]) -> None:
        for beam, run in groupby(events, key=lambda event: event.beam):
            holder = parent if beam is None else add(parent, "beam")
            for event in run:
                self._event(holder, bar_index, voice, event)

    def _event(self, parent: etree._Element, bar_index: int, voice: int, event: WrittenEvent) -> None:
        if event.is_rest and voice > 1:
            add(parent, "mSpace") if event.whole_bar else add(parent, "space", **_duration(event))
            return
        if event.is_rest:
            rest = add(parent, "mRest") if event.whole_bar else add(parent, "rest", **_duration(event))
            rest.set(XML_ID, f"r{self._rests[voice, event.onset]}")
            return
        shared = _duration(event)
        if len(event.notes) > 1:
            parent, shared = add(parent, "chord", **shared), {}
        for index, note in zip(event.indices, event.notes, strict=True):
            printed = not event.tied_from and (bar_index, index) in self.accidentals
            accidental = {"accid" if printed else "accid_ges": written_accidental(note.pitch)}
            crossed = {"head_shape": "x"} if note.touch.damping is Damping.DEAD else {}
            head = add(parent, "note", **pitch_attributes(note.pitch), **accidental, **shared, **_tie(event), **crossed)
            head.set(XML_ID, piece_id("n", index, self._pieces[index, event.onset]))

    def _tab_staff(self, measure: etree._Element, bar: WrittenBar) -> None:
        staff = add(measure, "staff", n="2")
        for number, voice in zip(bar.numbers, bar.voices, strict=True):
            layer = add(staff, "layer", n=str(number))
            for tuplet, run in groupby(voice, key=lambda event: event.tuplet):
                parent = layer if tuplet is None else _hidden_tuplet(layer, tuplet)
                for event in run:
                    self._tab_event(parent, event, bar.measure)

    def _tab_event(self, parent: etree._Element, event: WrittenEvent, bar: Measure) -> None:
        held_inside = event.tied_from and event.onset > bar.onset
        placed = [] if held_inside else [pair for pair in zip(event.indices, event.notes, strict=True) if pair[1].place]
        if not placed:
            _space(parent, event, bar)
        else:
            group = add(parent, "tabGrp", **_duration(event))
            for index, note in placed:
                self._digit(group, index, note, event)

    def _digit(self, group: etree._Element, index: int, note: Note, event: WrittenEvent) -> None:
        if note.place is None or self.part.instrument is None:
            return
        fret = str(tab_fret(self.part.instrument, note.place))
        dead = {"type": "dead"} if note.touch.damping is Damping.DEAD else {}
        held = {"type": "held"} if event.tied_from else dead
        digit = add(group, "note", tab_course=str(note.place.string), tab_fret=fret, **held)
        digit.set(XML_ID, piece_id("t", index, self._pieces[index, event.onset]))


def _space(parent: etree._Element, event: WrittenEvent, bar: Measure) -> None:
    """Silence on the tablature, beat by beat where it can be, so that a long rest gets the width of as many notes."""
    beat = plain_value(bar.meter.pulse)
    beats = event.length / bar.meter.pulse
    if event.tuplet is None and beat is not None and beats.denominator == 1:
        for _ in range(beats.numerator):
            add(parent, "space", **_value_attributes(beat))
    else:
        add(parent, "space", **_duration(event))


def _tuplet(parent: etree._Element, tuplet: Tuplet, events: list[WrittenEvent]) -> etree._Element:
    on_one_beam = len({event.beam for event in events}) == 1 and events[0].beam is not None
    return add(
        parent,
        "tuplet",
        num=str(tuplet.actual),
        numbase=str(tuplet.normal),
        bracket_visible="false" if on_one_beam else "true",
    )


def _hidden_tuplet(parent: etree._Element, tuplet: Tuplet) -> etree._Element:
    hidden = {"num_visible": "false", "bracket_visible": "false"}
    return add(parent, "tuplet", num=str(tuplet.actual), numbase=str(tuplet.normal), **hidden)


def _tie(event: WrittenEvent) -> dict[str, str]:
    if event.tied_from:
        return {"tie": "m" if event.tied_to else "t"}
    return {"tie": "i"} if event.tied_to else {}


def _duration(event: WrittenEvent) -> dict[str, str]:
    return _value_attributes(event.value)


def _value_attributes(value: NoteValue) -> dict[str, str]:
    return {"dur": str(value.base)} | ({"dots": str(value.dots)} if value.dots else {})

"""One part of MusicXML, bar by bar: attributes, directions, chords, and its staves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from lxml import etree

from phrasewright.engrave.directions import Direction
from phrasewright.engrave.mei import has_tab, uses_bass_clef
from phrasewright.engrave.mei_staff import piece_id, piece_numbers
from phrasewright.engrave.musicxml_drums import DRUM_MARKS, drum_id
from phrasewright.engrave.musicxml_harmony import add_harmony
from phrasewright.engrave.musicxml_notes import TYPES, NoteWriter, add_pitch, write_pitch
from phrasewright.engrave.musicxml_touches import TouchMarks, add_fretted_pitch
from phrasewright.engrave.xml_tree import child
from phrasewright.neck.instrument import Instrument
from phrasewright.score.accidentals import printed_accidentals
from phrasewright.score.model import ChordSpan, Hit, Measure, Note, Part
from phrasewright.score.notation import WrittenBar, WrittenEvent, tab_fret
from phrasewright.score.performance import STRAIGHT, Performance
from phrasewright.score.rhythm import plain_value

TAB_VOICE = 5  # voices of the second staff count from here


@dataclass(frozen=True, slots=True, kw_only=True)
class Staging:
    """What stands around the notes. chords, sections, directions: bar by bar; performance: None = not said."""

    divisions: int
    fifths: int
    chords: tuple[tuple[ChordSpan, ...], ...]
    sections: tuple[str, ...]
    directions: tuple[tuple[Direction, ...], ...]
    performance: Performance | None


@dataclass(slots=True, kw_only=True)
class PartWriter:
    """Writes a pitched part. with_ids: notes are called as in MEI (``n3``, ``t3``); for one part of a document."""

    part: Part
    bars: tuple[WrittenBar, ...]
    staging: Staging
    with_ids: bool
    _tab: bool = field(init=False)
    _accidentals: frozenset[tuple[int, int]] = field(init=False)
    _pieces: dict[tuple[int, Fraction], int] = field(init=False)
    _touches: TouchMarks = field(init=False)

    def __post_init__(self) -> None:
        self._touches = TouchMarks(notes=self.part.notes)
        self._tab = has_tab(self.part)
        self._accidentals = printed_accidentals(self.bars, self.staging.fifths)
        self._pieces = piece_numbers(self.bars)

    def write(self, parent: etree._Element) -> None:
        """Append every bar to the ``part`` element."""
        for place, bar in enumerate(self.bars):
            measure = child(parent, "measure", **bar_number(bar.measure))
            self._attributes(measure, place)
            open_bar(measure, self.staging, place, bar)
            self._notation(measure, place, bar)
            if self._tab and self.part.instrument is not None:
                back(measure, self.staging, bar)
                self._tablature(measure, bar, self.part.instrument)
            close_bar(measure, place == len(self.bars) - 1)

    def _attributes(self, measure: etree._Element, place: int) -> None:
        if place == 0:
            attributes = start_attributes(measure, self.staging, self.bars[0])
            if self._tab:
                child(attributes, "staves", "2")
            self._clefs(attributes)
            if self._tab and self.part.instrument is not None:
                staff_details(attributes, self.part.instrument)
        elif self.bars[place].measure.meter != self.bars[place - 1].measure.meter:
            add_time(child(measure, "attributes"), self.bars[place])

    def _clefs(self, attributes: etree._Element) -> None:
        sign, line = ("F", "4") if uses_bass_clef(self.part) else ("G", "2")
        clef = child(attributes, "clef", **({"number": "1"} if self._tab else {}))
        child(clef, "sign", sign)
        child(clef, "line", line)
        octaves = self.part.instrument.written_octaves if self.part.instrument is not None else 0
        if octaves:
            child(clef, "clef-octave-change", str(-octaves))
        if self._tab:
            clef = child(attributes, "clef", number="2")
            child(clef, "sign", "TAB")
            child(clef, "line", "5")

    def _name(self, letter: str, event: WrittenEvent, index: int) -> str:
        return piece_id(letter, index, self._pieces[index, event.onset]) if self.with_ids else ""

    def _notation(self, measure: etree._Element, place: int, bar: WrittenBar) -> None:
        def printed(event: WrittenEvent, index: int) -> bool:
            return not event.tied_from and (place, index) in self._accidentals

        for order, (number, events) in enumerate(zip(bar.numbers, bar.voices, strict=True)):
            if order:
                back(measure, self.staging, bar)
            writer = NoteWriter(
                divisions=self.staging.divisions,
                voice=number,
                staff=1 if self._tab else 0,
                sound=add_pitch,
                accidental=printed,
                marks=self._touches.head,
                notations=_fingering,
                touches=self._touches.on_notation,
                lyrics=self._under,
                name=partial(self._name, "n"),
            )
            chords = list(self.staging.chords[place]) if order == 0 else []
            for at, event in enumerate(events):
                _labels(measure, event)
                _chords_within(measure, chords, event, self.staging.divisions, staff=1 if self._tab else 0)
                writer.write(measure, events, at)

    def _tablature(self, measure: etree._Element, bar: WrittenBar, instrument: Instrument) -> None:
        def place(notations: etree._Element, index: int, note: Note) -> None:
            del index
            if note.place is not None:
                technical = child(notations, "technical")
                child(technical, "string", str(note.place.string))
                child(technical, "fret", str(tab_fret(instrument, note.place)))

        for order, (number, events) in enumerate(zip(bar.numbers, bar.voices, strict=True)):
            if order:
                back(measure, self.staging, bar)
            voice = TAB_VOICE + number - 1
            writer = NoteWriter(
                divisions=self.staging.divisions,
                voice=voice,
                staff=2,
                sound=add_fretted_pitch,
                marks=self._tab_head,
                notations=place,
                touches=self._touches.on_tablature,
                lyrics=self._touches.play,
                hide_rests=True,
                name=partial(self._name, "t"),
            )
            placed = [_placed(event) for event in events]
            for at, event in enumerate(placed):
                self._touches.palm_words(measure, event)
                writer.write(measure, placed, at)

    def _under(self, element: etree._Element, index: int, note: Note) -> None:
        _degree(element, index, note)
        self._touches.play(element, index, note)

    def _tab_head(self, element: etree._Element, index: int, note: Note) -> None:
        child(element, "stem", "none")
        self._touches.head(element, index, note)


@dataclass(slots=True, kw_only=True)
class DrumWriter:
    """Writes the kit. bars: strokes written as notes; their indices are those of ``hits``."""

    part_id: str
    hits: Sequence[Hit]
    bars: tuple[WrittenBar, ...]
    staging: Staging

    def write(self, parent: etree._Element) -> None:
        """Append every bar to the ``part`` element."""
        for place, bar in enumerate(self.bars):
            measure = child(parent, "measure", **bar_number(bar.measure))
            if place == 0:
                clef = child(start_attributes(measure, self.staging, bar), "clef")
                child(clef, "sign", "percussion")
            elif bar.measure.meter != self.bars[place - 1].measure.meter:
                add_time(child(measure, "attributes"), bar)
            open_bar(measure, self.staging, place, bar)
            self._strokes(measure, place, bar)
            close_bar(measure, place == len(self.bars) - 1)

    def _strokes(self, measure: etree._Element, place: int, bar: WrittenBar) -> None:
        for order, (number, events) in enumerate(zip(bar.numbers, bar.voices, strict=True)):
            if order:
                back(measure, self.staging, bar)
            writer = NoteWriter(
                divisions=self.staging.divisions,
                voice=number,
                sound=self._unpitched,
                instrument=self._instrument,
                marks=self._head,
            )
            chords = list(self.staging.chords[place]) if order == 0 else []
            for at, event in enumerate(events):
                _chords_within(measure, chords, event, self.staging.divisions)
                writer.write(measure, events, at)

    def _unpitched(self, element: etree._Element, index: int, note: Note) -> None:
        del note
        mark = DRUM_MARKS[self.hits[index].drum]
        unpitched = child(element, "unpitched")
        child(unpitched, "display-step", mark.step)
        child(unpitched, "display-octave", str(mark.octave))

    def _instrument(self, element: etree._Element, index: int, note: Note) -> None:
        del note
        child(element, "instrument", id=drum_id(self.part_id, self.hits[index].drum))

    def _head(self, element: etree._Element, index: int, note: Note) -> None:
        del note
        drum = self.hits[index].drum
        parentheses = {"parentheses": "yes"} if drum.name == "GHOST" else {}
        child(element, "notehead", DRUM_MARKS[drum].head, **parentheses)


# --- what both share


def start_attributes(measure: etree._Element, staging: Staging, bar: WrittenBar) -> etree._Element:
    """Divisions, key and time at the start of a part."""
    attributes = child(measure, "attributes")
    child(attributes, "divisions", str(staging.divisions))
    child(child(attributes, "key"), "fifths", str(staging.fifths))
    add_time(attributes, bar)
    return attributes


def add_time(attributes: etree._Element, bar: WrittenBar) -> None:
    """The time signature of a bar."""
    time = child(attributes, "time")
    child(time, "beats", str(bar.measure.meter.upper))
    child(time, "beat-type", str(bar.measure.meter.lower))


def staff_details(attributes: etree._Element, instrument: Instrument) -> None:
    """Lines, tuning (line 1 is the lowest on the page, the last string) and capo of the tablature staff."""
    details = child(attributes, "staff-details", number="2")
    child(details, "staff-lines", str(len(instrument.tuning)))
    for line, pitch in enumerate(reversed(instrument.tuning), start=1):
        write_pitch(child(details, "staff-tuning", line=str(line)), pitch, "tuning-")
    if instrument.capo:
        child(details, "capo", str(instrument.capo))


def open_bar(measure: etree._Element, staging: Staging, place: int, bar: WrittenBar) -> None:
    """Tempo and swing at the start, the section where one begins."""
    if place == 0 and staging.performance is not None:
        _tempo(measure, staging.performance, bar)
    if staging.sections[place]:
        direction = child(measure, "direction", placement="above")
        child(child(direction, "direction-type"), "rehearsal", staging.sections[place])
    for said in staging.directions[place]:
        _said(measure, said, bar, staging)


def _said(measure: etree._Element, said: Direction, bar: WrittenBar, staging: Staging) -> None:
    """Words over the bar, with the tempo they bring where it is known."""
    direction = child(measure, "direction", placement="above")
    child(child(direction, "direction-type"), "words", said.words)
    if said.at > bar.measure.onset:
        child(direction, "offset", str(int((said.at - bar.measure.onset) * staging.divisions)))
    if said.pace is not None and staging.performance is not None:
        child(direction, "sound", tempo=f"{staging.performance.tempo_bpm * float(said.pace):.6g}")


def bar_number(measure: Measure) -> dict[str, str]:
    """A bar's attributes; a pick-up is not counted."""
    return {"number": str(measure.number), **({} if measure.number else {"implicit": "yes"})}


def close_bar(measure: etree._Element, last: bool) -> None:
    """The final bar line."""
    if last:
        child(child(measure, "barline", location="right"), "bar-style", "light-heavy")


def back(measure: etree._Element, staging: Staging, bar: WrittenBar) -> None:
    """Return to the start of the bar for another voice or staff."""
    ticks = bar.measure.meter.bar * staging.divisions
    child(child(measure, "backup"), "duration", str(ticks.numerator))


def _tempo(measure: etree._Element, performance: Performance, bar: WrittenBar) -> None:
    pulse = bar.measure.meter.pulse
    value = plain_value(pulse)
    direction = child(measure, "direction", placement="above")
    if value is not None:
        metronome = child(child(direction, "direction-type"), "metronome")
        child(metronome, "beat-unit", TYPES[value.base])
        for _ in range(value.dots):
            child(metronome, "beat-unit-dot")
        child(metronome, "per-minute", f"{performance.tempo_bpm / float(pulse):.6g}")
    sound = child(direction, "sound", tempo=f"{performance.tempo_bpm:.6g}")
    swing = child(sound, "swing")
    ratio = performance.swing.ratio_at(performance.tempo_bpm)
    if ratio == STRAIGHT:
        child(swing, "straight")
        return
    near = Fraction(ratio).limit_denominator(10)
    child(swing, "first", str(near.numerator))
    child(swing, "second", str(near.denominator))
    child(swing, "swing-type", "eighth")


def _labels(measure: etree._Element, event: WrittenEvent) -> None:
    if event.tied_from:
        return
    for note in event.notes:
        if note.label:
            direction = child(measure, "direction", placement="above")
            words = child(child(direction, "direction-type"), "words", note.label)
            words.attrib.update({"font-weight": "bold", "enclosure": "rectangle"})


def _chords_within(
    measure: etree._Element, chords: list[ChordSpan], event: WrittenEvent, divisions: int, *, staff: int = 0
) -> None:
    """Write the chords that begin while an event lasts; they are taken from the list."""
    while chords and chords[0].onset < event.end:
        span = chords.pop(0)
        ticks = (span.onset - event.onset) * divisions
        add_harmony(measure, span.chord, offset=ticks.numerator, staff=staff)


def _placed(event: WrittenEvent) -> WrittenEvent:
    """The event with only those notes that have a place on the neck, off its beam."""
    pairs = [(index, note) for index, note in zip(event.indices, event.notes, strict=True) if note.place is not None]
    return WrittenEvent(
        onset=event.onset,
        length=event.length,
        value=event.value,
        notes=tuple(note for _, note in pairs),
        indices=tuple(index for index, _ in pairs),
        tied_from=event.tied_from,
        tied_to=event.tied_to,
        tuplet=event.tuplet,
    )


def _fingering(notations: etree._Element, index: int, note: Note) -> None:
    del index
    if note.finger is not None:
        child(child(notations, "technical"), "fingering", str(note.finger))


def _degree(element: etree._Element, index: int, note: Note) -> None:
    del index
    if note.degree is not None:
        lyric = child(element, "lyric", number="1")
        child(lyric, "syllabic", "single")
        child(lyric, "text", note.degree.printed)

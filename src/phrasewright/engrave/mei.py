"""MEI 5.1: the lead of a score as notation over tablature, for exchange and for the engraver.

Ids are stable: note k of the part is ``n{k}`` on the notation staff and ``t{k}`` on the tablature staff; a tied
continuation adds its place in the chain (``n3-2``). Its degree is ``d{k}``, its finger ``f{k}``, its label ``l{k}``.
Rests ``r{k}``, chord names ``h{k}`` and bars ``m{k}`` are counted from 1, sections ``s{k}`` by their bar. Pitches and
tuning stand as they sound (the clef carries the octave); fret numbers count from the capo.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import fmean

from lxml import etree

from phrasewright.engrave.directions import MOST_DIRECTIONS, directions_in
from phrasewright.engrave.mei_staff import MEI, XML_ID, Staves, add, pitch_attributes, written_accidental
from phrasewright.engrave.mei_touches import add_touches
from phrasewright.neck.instrument import Instrument
from phrasewright.score.accidentals import printed_accidentals
from phrasewright.score.model import ChordSpan, Measure, Note, Part, PartRole, Score
from phrasewright.score.notation import written_bars
from phrasewright.theory.pitch import NoteName, Pitch

NO_CHORD = "N.C."
BASS_CLEF_BELOW_MIDI = 57.0  # mean written pitch of the open strings: guitar 61.5, baritone 59.2, bass 47.5
_OCTAVES: dict[int, dict[str, str]] = {
    -1: {"dis": "8", "dis_place": "above"},
    1: {"dis": "8", "dis_place": "below"},
    2: {"dis": "15", "dis_place": "below"},
}
_RAISED = tuple(map(NoteName.parse, ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")))


def lead_of(score: Score) -> Part:
    """The part that is engraved: the lead, else the first. Raises ValueError when the score has no pitched part."""
    if not score.parts:
        raise ValueError(f"{score.title} has no pitched part to write down")
    return next((part for part in score.parts if part.role is PartRole.LEAD), score.parts[0])


def has_tab(part: Part) -> bool:
    """True when a part is written in tablature too: it has an instrument and at least one place on its neck."""
    return part.instrument is not None and any(note.place is not None for note in part.notes)


def uses_bass_clef(part: Part) -> bool:
    """True when the part reads better in bass clef, by its open strings (by its notes without an instrument)."""
    if part.instrument is not None:
        shift = 12 * part.instrument.written_octaves
        return fmean(pitch.midi + shift for pitch in part.instrument.tuning) < BASS_CLEF_BELOW_MIDI
    return bool(part.notes) and fmean(note.pitch.midi for note in part.notes) < BASS_CLEF_BELOW_MIDI


def sounding_tuning(instrument: Instrument) -> tuple[Pitch, ...]:
    """Open strings as they sound behind the capo, string 1 first."""
    if not instrument.capo:
        return instrument.tuning
    raised = (pitch.midi + instrument.capo for pitch in instrument.tuning)
    return tuple(Pitch.from_midi(midi, _RAISED[midi % 12]) for midi in raised)


def to_mei(score: Score, *, system_starts: Collection[int] = ()) -> str:
    """MEI of the lead part (``lead_of``) as text.

    system_starts: indices of bars that begin a new system, on a page of its own; there the chord is named again.
    Raises ValueError for a part that cannot be written (see ``written_bars``).
    """
    part = lead_of(score)
    bars = written_bars(part.notes, score.measures)
    staves = Staves(part=part, tab=has_tab(part), bars=bars, accidentals=printed_accidentals(bars, score.fifths))
    root = etree.Element(f"{{{MEI}}}mei", {"meiversion": "5.1"}, nsmap={None: MEI})  # type: ignore[dict-item]  # lxml takes None
    _header(root, score)
    music_score = root
    for name in ("music", "body", "mdiv", "score"):
        music_score = add(music_score, name)
    _definition(music_score, score, part)
    section = add(music_score, "section")
    for index in range(len(bars)):
        if index in system_starts:  # the first too: music without any break is broken as the engraver likes
            add(section, "pb")
        _measure(section, score, staves, index, name_chord=index == 0 or index in system_starts)
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True).decode("utf-8")


def _header(root: etree._Element, score: Score) -> None:
    description = add(add(root, "meiHead"), "fileDesc")
    add(add(description, "titleStmt"), "title", score.title)
    add(description, "pubStmt")
    if score.words:
        add(add(description, "notesStmt"), "annot", score.words)


def _definition(parent: etree._Element, score: Score, part: Part) -> None:
    definition = add(parent, "scoreDef", **_meter(score.measures[0]))
    group = add(definition, "staffGrp", bar_thru="true")
    staff = add(group, "staffDef", n="1", lines="5")
    octave = _OCTAVES.get(part.instrument.written_octaves, {}) if part.instrument else {}
    shape, line = ("F", "4") if uses_bass_clef(part) else ("G", "2")
    add(staff, "clef", shape=shape, line=line, **octave)
    count, sign = abs(score.fifths), "s" if score.fifths > 0 else "f"
    add(staff, "keySig", sig=f"{count}{sign}" if count else "0")
    if has_tab(part) and part.instrument is not None:
        _tab_definition(group, part.instrument, score.measures[0])


def _tab_definition(group: etree._Element, instrument: Instrument, first: Measure) -> None:
    strings = len(instrument.tuning)
    staff = add(group, "staffDef", n="2", lines=str(strings), notationtype="tab.guitar")
    add(staff, "clef", shape="TAB", line=str(strings - 1))
    tuning = add(staff, "tuning")
    for number, pitch in enumerate(sounding_tuning(instrument), start=1):
        accidental = {"accid": written_accidental(pitch)} if pitch.name.alter else {}
        add(tuning, "course", n=str(number), **pitch_attributes(pitch), **accidental)
    _silent_meter(staff, first)


def _meter(measure: Measure) -> dict[str, str]:
    return {"meter_count": str(measure.meter.upper), "meter_unit": str(measure.meter.lower)}


def _silent_meter(staff: etree._Element, measure: Measure) -> None:
    add(staff, "meterSig", count=str(measure.meter.upper), unit=str(measure.meter.lower), visible="false")


def _measure(section: etree._Element, score: Score, staves: Staves, index: int, *, name_chord: bool) -> None:
    bar = staves.bars[index]
    if index and bar.measure.meter != score.measures[index - 1].meter:
        change = add(section, "scoreDef", **_meter(bar.measure))
        if staves.tab:
            _silent_meter(add(add(change, "staffGrp"), "staffDef", n="2"), bar.measure)
    measure = add(section, "measure", n=str(bar.measure.number))
    measure.set(XML_ID, f"m{index + 1}")
    if index == len(score.measures) - 1:
        measure.set("right", "end")
    staves.write(measure, index)
    if bar.measure.section:
        section_mark = add(measure, "reh", bar.measure.section, staff="1", place="above", tstamp="1")
        section_mark.set(XML_ID, f"s{index + 1}")
    for number, said in enumerate(directions_in(score.measures, index)):
        stamp = _decimal((said.at - bar.measure.onset) / bar.measure.meter.unit + 1)
        words = add(measure, "dir", said.words, staff="1", place="above", tstamp=stamp, type="direction")
        words.set(XML_ID, f"w{index * MOST_DIRECTIONS + number}")
    capo = staves.part.instrument.capo if staves.part.instrument else 0
    if capo and index == 0:
        add(measure, "dir", f"Capo {capo}", staff="1", place="above", tstamp="1", type="capo").set(XML_ID, "c1")
    _chords(measure, staves, bar.measure, chord_changes(score.measures, index, restate=name_chord))
    add_touches(measure, staves.part, bar, staves.last_head)
    for event in (event for voice in bar.voices for event in voice if not event.tied_from):
        for note_index, note in zip(event.indices, event.notes, strict=True):
            _words(measure, note_index, note, on_tab=staves.tab and note.place is not None)


def _chords(measure: etree._Element, staves: Staves, bar: Measure, spans: Iterable[ChordSpan]) -> None:
    for span in spans:
        stamp = (span.onset - bar.onset) / bar.meter.unit + 1
        name = add(measure, "harm", _chord_text(span), staff="1", place="above", tstamp=_decimal(stamp))
        name.set(XML_ID, f"h{staves.next_chord()}")


def chord_changes(measures: Sequence[Measure], index: int, *, restate: bool) -> tuple[ChordSpan, ...]:
    """Chords printed in a bar: those that differ from the one before; with restate the first in any case."""
    before = measures[index - 1].chords[-1:] if index and not restate else ()
    spans = (*before, *measures[index].chords)
    changes = [after for one, after in pairwise(spans) if _chord_text(one) != _chord_text(after)]
    return tuple(changes) if before else (*spans[:1], *changes)


def chord_names(measures: Sequence[Measure]) -> tuple[tuple[str, ...], ...]:
    """Names of all chords of every bar, for measuring."""
    return tuple(tuple(_chord_text(span) for span in measure.chords) for measure in measures)


def _chord_text(span: ChordSpan) -> str:
    return NO_CHORD if span.chord is None else span.chord.printed


def _words(measure: etree._Element, index: int, note: Note, *, on_tab: bool) -> None:
    head, digit = f"#n{index}", f"#t{index}"
    if note.label:
        add(measure, "dir", note.label, staff="1", place="above", startid=head, type="label").set(XML_ID, f"l{index}")
    if note.finger is not None:
        add(measure, "fing", str(note.finger), staff="1", place="above", startid=head).set(XML_ID, f"f{index}")
    if note.degree is not None:
        staff, startid = ("2", digit) if on_tab else ("1", head)
        degree = add(measure, "dir", staff=staff, place="below", startid=startid, type="degree")
        degree.set(XML_ID, f"d{index}")
        add(degree, "rend", note.degree.printed, fontsize="70%")


def _decimal(value: Fraction) -> str:
    return f"{float(value):.6g}"

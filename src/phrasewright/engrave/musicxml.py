"""MusicXML 4.0 of a score: the lead on notation and tablature staves, the band, the chords over it.

A part with places on a neck is one part of two staves: notation with fingers, degrees (as lyrics) and labels, and
tablature with string and fret, tuning and capo. That is how notation programs exchange the pair; a reader that plays
both staves doubles each note in unison. Pitches stand as they sound, the octave clef says where they are written; there
is no ``transpose``. Other pitched parts have one staff, drums an unpitched one. Accompaniment is written at the nearest
readable rhythm (``snapped``); the lead is written exactly.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import lcm

from lxml import etree

from phrasewright.engrave.directions import directions_in
from phrasewright.engrave.mei import chord_changes, lead_of
from phrasewright.engrave.musicxml_drums import DRUM_MARKS, drum_id
from phrasewright.engrave.musicxml_part import DrumWriter, PartWriter, Staging
from phrasewright.engrave.xml_tree import child
from phrasewright.score.model import Drum, DrumPart, Hit, Note, Part, PartRole, Score
from phrasewright.score.notation import WrittenBar, written_bars
from phrasewright.score.performance import Performance
from phrasewright.score.snap import snapped
from phrasewright.theory.pitch import NoteName, Pitch

PROGRAMS = {PartRole.LEAD: 28, PartRole.CHORDS: 28, PartRole.BASS: 34}  # General MIDI, from 1: clean guitar, bass
VOICE_PROGRAMS = {  # what a part's voice says more exactly
    "muted guitar": 29, "acoustic guitar": 26, "nylon guitar": 25, "driven guitar": 30, "electric piano": 5,
    "organ": 17,
}  # fmt: skip
DRUM_CHANNEL = 10
_STAND_IN = Pitch(NoteName("C"), 4)  # strokes of the kit are written like notes, their pitch is not used


def to_musicxml(score: Score, performance: Performance | None = None) -> str:
    """MusicXML text. performance: adds tempo and swing. Raises ValueError for a lead that cannot be written."""
    lead = lead_of(score) if score.parts else None
    parts = [part if part is lead else snapped(part, score.end) for part in score.parts]
    written = [written_bars(part.notes, score.measures) for part in parts]
    drums = _drum_bars(score.drums, score) if score.drums is not None else None
    divisions = _divisions([*written, drums] if drums else written)
    root = etree.Element("score-partwise", {"version": "4.0"})
    _header(root, score)
    _part_list(root, parts, score.drums)
    for number, (part, bars) in enumerate(zip(parts, written, strict=True), start=1):
        staging = _staging(score, performance if number == 1 else None, divisions, first=number == 1)
        PartWriter(part=part, bars=bars, staging=staging, with_ids=part is lead).write(
            child(root, "part", id=f"P{number}")
        )
    if drums is not None and score.drums is not None:
        number = len(parts) + 1
        staging = _staging(score, performance if number == 1 else None, divisions, first=number == 1)
        writer = DrumWriter(part_id=f"P{number}", hits=score.drums.hits, bars=drums, staging=staging)
        writer.write(child(root, "part", id=f"P{number}"))
    text = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True, standalone=False)
    return text.decode("utf-8")


def _staging(score: Score, performance: Performance | None, divisions: int, *, first: bool) -> Staging:
    """What a part prints besides its notes: chords, sections and tempo stand over the first part only."""
    places = range(len(score.measures))
    chords = tuple(chord_changes(score.measures, place, restate=False) if first else () for place in places)
    sections = tuple(measure.section if first else "" for measure in score.measures)
    said = tuple(tuple(directions_in(score.measures, place)) if first else () for place in places)
    return Staging(
        divisions=divisions,
        fifths=score.fifths,
        chords=chords,
        sections=sections,
        directions=said,
        performance=performance,
    )


def _divisions(parts: list[tuple[WrittenBar, ...]]) -> int:
    """Smallest number of divisions per quarter note that writes every length and chord as a whole number."""
    events = [event for bars in parts for bar in bars for voice in bar.voices for event in voice]
    chords = [span.onset for bars in parts for bar in bars for span in bar.measure.chords]
    return lcm(*(event.length.denominator for event in events), *(onset.denominator for onset in chords))


def _header(root: etree._Element, score: Score) -> None:
    child(child(root, "work"), "work-title", score.title)
    identification = child(root, "identification")
    child(child(identification, "encoding"), "software", "Phrasewright")
    if score.words:
        child(child(identification, "miscellaneous"), "miscellaneous-field", score.words, name="instruction")


def _part_list(root: etree._Element, parts: list[Part], drums: DrumPart | None) -> None:
    part_list = child(root, "part-list")
    for number, part in enumerate(parts, start=1):
        entry = child(part_list, "score-part", id=f"P{number}")
        child(entry, "part-name", part.name)
        child(child(entry, "score-instrument", id=f"P{number}-I1"), "instrument-name", _instrument_name(part))
        sound = child(entry, "midi-instrument", id=f"P{number}-I1")
        child(sound, "midi-channel", str(_channel(number)))
        child(sound, "midi-program", str(VOICE_PROGRAMS.get(part.voice, PROGRAMS.get(part.role, 28))))
    if drums is not None:
        _drum_entry(part_list, drums, f"P{len(parts) + 1}")


def _instrument_name(part: Part) -> str:
    return part.instrument.name if part.instrument is not None else part.voice


def _channel(number: int) -> int:
    """Channels from 1, the drums' left out."""
    channel = (number - 1) % 15 + 1
    return channel if channel < DRUM_CHANNEL else channel + 1


def _drum_entry(part_list: etree._Element, drums: DrumPart, part_id: str) -> None:
    entry = child(part_list, "score-part", id=part_id)
    child(entry, "part-name", drums.name)
    used = [drum for drum in Drum if any(hit.drum is drum for hit in drums.hits)] or [Drum.KICK]
    for drum in used:
        child(child(entry, "score-instrument", id=drum_id(part_id, drum)), "instrument-name", str(drum))
    for drum in used:
        sound = child(entry, "midi-instrument", id=drum_id(part_id, drum))
        child(sound, "midi-channel", str(DRUM_CHANNEL))
        child(sound, "midi-unpitched", str(DRUM_MARKS[drum].key + 1))


def _drum_bars(drums: DrumPart, score: Score) -> tuple[WrittenBar, ...]:
    """Strokes written as notes that last to the next stroke, the next counted unit or the bar line."""
    onsets = sorted({hit.onset for hit in drums.hits})
    following = dict(pairwise([*onsets, score.end]))
    notes = [_as_note(hit, following[hit.onset], score) for hit in drums.hits]
    stand_in = Part(role=PartRole.DRUMS, name=drums.name, notes=tuple(notes))
    return written_bars(snapped(stand_in, score.end).notes, score.measures)


def _as_note(hit: Hit, following: Fraction, score: Score) -> Note:
    bar = score.measure_at(hit.onset)
    unit = bar.meter.unit
    next_unit = bar.onset + ((hit.onset - bar.onset) // unit + 1) * unit
    return Note(onset=hit.onset, duration=min(following, next_unit) - hit.onset, pitch=_STAND_IN)

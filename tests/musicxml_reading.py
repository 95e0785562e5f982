"""MusicXML as outside readers see it: the W3C schema, offline, and music21."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import music21
from lxml import etree

from phrasewright.score.model import Part
from phrasewright.score.notation import tab_fret
from phrasewright.theory.pitch import Pitch


class _Offline(etree.Resolver):
    """Answers the schema's imports with the files beside it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def resolve(self, system_url: str, public_id: str, context: object) -> object:
        name = system_url.rsplit("/", 1)[-1]
        return self.resolve_filename(str(self.folder / name), context) if name in ("xml.xsd", "xlink.xsd") else None


def load_schema(data_dir: Path) -> etree.XMLSchema:
    """MusicXML 4.0 XSD, W3C Music Notation Community Group."""
    folder = data_dir / "musicxml_w3c" / "schema"
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Offline(folder))
    return etree.XMLSchema(etree.parse(folder / "musicxml.xsd", parser))


def sounded(part: music21.stream.Part) -> list[tuple[Fraction, Fraction, Pitch]]:
    """(onset, duration, pitch) of a part as music21 hears it, ties joined."""
    held: dict[tuple[str, int | None], list[Fraction]] = {}
    found: list[tuple[Fraction, Fraction, Pitch]] = []
    for element in part.flatten().notes:
        if isinstance(element, music21.harmony.ChordSymbol):
            continue
        onset, length = Fraction(element.offset), Fraction(element.quarterLength)
        tones = element.notes if isinstance(element, music21.chord.Chord) else [element]
        for tone in tones:
            pitch = Pitch.parse(tone.pitch.nameWithOctave.replace("-", "b"))
            tie = tone.tie.type if tone.tie is not None else None
            _join(held, found, onset, length, pitch, tie)
    assert not held
    return sorted(found)


def _join(
    held: dict[tuple[str, int | None], list[Fraction]],
    found: list[tuple[Fraction, Fraction, Pitch]],
    onset: Fraction,
    length: Fraction,
    pitch: Pitch,
    tie: str | None,
) -> None:
    key = (str(pitch), None)
    if tie in ("continue", "stop"):
        held[key][1] += length
    elif tie == "start":
        held[key] = [onset, length]
    if tie is None:
        found.append((onset, length, pitch))
    elif tie == "stop":
        start, total = held.pop(key)
        found.append((start, total, pitch))


def wanted(part: Part) -> list[tuple[Fraction, Fraction, Pitch]]:
    return sorted((note.onset, note.duration, note.pitch) for note in part.notes)


def fretted(tablature: music21.stream.Part) -> list[tuple[Fraction, int, int]]:
    """(onset, string, fret) of a tablature part as music21 reads it, tied pieces once."""
    read = []
    for element in tablature.flatten().notes:
        if element.tie is None or element.tie.type == "start":
            marks = element.articulations
            strings = [mark.number for mark in marks if isinstance(mark, music21.articulations.StringIndication)]
            frets = [mark.number for mark in marks if type(mark) is music21.articulations.FretIndication]
            read.extend((Fraction(element.offset), string, fret) for string, fret in zip(strings, frets, strict=True))
    return sorted(read)


def placed(part: Part) -> list[tuple[Fraction, int, int]]:
    """(onset, string, fret as tablature counts it) of a part's placed notes."""
    if part.instrument is None:
        raise ValueError(f"{part.name} has no instrument")
    places = [(note.onset, note.place) for note in part.notes if note.place]
    return sorted((onset, place.string, tab_fret(part.instrument, place)) for onset, place in places)

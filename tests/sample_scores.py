"""Small scores written out by hand, each for one thing that engraving must get right."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.score.model import ChordSpan, Measure, Note, Part, PartRole, Score
from phrasewright.score.technique import DEAD, PLAIN, Bend, Damping, Start, Touch
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch


def instrument(
    name: str, tuning: str, *, capo: int = 0, written_octaves: int = 1, scale_mm: float = 648.0
) -> Instrument:
    """An instrument from its open strings, string 1 first: ``E4 B3 G3 D3 A2 E2``."""
    strings = tuple(Pitch.parse(word) for word in tuning.split())
    return Instrument(
        id=name,
        name=name,
        tuning=strings,
        frets=24,
        scale_length_mm=scale_mm,
        capo=capo,
        written_octaves=written_octaves,
    )


GUITAR = instrument("guitar", "E4 B3 G3 D3 A2 E2")
CAPO_GUITAR = instrument("guitar, capo 3", "E4 B3 G3 D3 A2 E2", capo=3)
BASS5 = instrument("five-string bass", "G2 D2 A1 E1 B0", scale_mm=864.0)
UKULELE = instrument("ukulele", "A4 E4 C4 G4", written_octaves=0, scale_mm=380.0)
THREE_STRINGS = instrument("three strings", "D4 A3 D3", scale_mm=500.0)
TWELVE_STRINGS = instrument("twelve strings", "E5 B4 G4 D4 A3 E3 E4 B3 G3 D3 A2 E2")


def chord(root: str, kind: str, bass: str | None = None) -> Chord:
    """A chord by root and MusicXML kind."""
    return Chord(root=NoteName.parse(root), kind=CHORD_KINDS[kind], bass=NoteName.parse(bass) if bass else None)


def bars(meter: str, chords: list[list[Chord | None]], sections: dict[int, str] | None = None) -> tuple[Measure, ...]:
    """Bars with evenly spread chords."""
    felt, made = Meter.parse(meter), []
    for index, names in enumerate(chords):
        length = felt.bar / len(names)
        onset = index * felt.bar
        spans = tuple(ChordSpan(onset=onset + i * length, duration=length, chord=c) for i, c in enumerate(names))
        section = (sections or {}).get(index, "")
        made.append(Measure(number=index + 1, onset=onset, meter=felt, chords=spans, section=section))
    return tuple(made)


def line(text: str, inst: Instrument | None, tonic: str = "A") -> tuple[Note, ...]:
    """Notes from words ``onset:duration:pitch:string/fret[:finger][:label]``; the degree is counted from the tonic."""
    notes = []
    for word in text.split():
        onset, duration, name, place, *more = word.split(":")
        pitch = Pitch.parse(name)
        at = None if place == "-" or inst is None else StringFret(*map(int, place.split("/")))
        finger = int(more[0]) if more and more[0] else None
        label = more[1] if len(more) > 1 else ""
        notes.append(
            Note(
                onset=Fraction(onset),
                duration=Fraction(duration),
                pitch=pitch,
                place=at,
                finger=finger,
                degree=degree(pitch, tonic),
                label=label,
            )
        )
    return tuple(notes)


def degree(pitch: Pitch, tonic: str) -> Degree:
    """The degree of a pitch over a tonic, as spelled."""
    root = NoteName.parse(tonic)
    number = ("CDEFGAB".index(pitch.name.letter) - "CDEFGAB".index(root.letter)) % 7 + 1
    plain = Degree(number).above(root)
    return Degree(number, pitch.name.alter - plain.alter)


def lead(
    title: str, measures: tuple[Measure, ...], notes: tuple[Note, ...], inst: Instrument | None, fifths: int = 0
) -> Score:
    """A score with a lead only."""
    part = Part(role=PartRole.LEAD, name="Lead", notes=notes, instrument=inst)
    return Score(title=title, measures=measures, parts=(part,), fifths=fifths)


def motifs() -> Score:
    """Four bars of 4/4: two motifs with rests, fingers, labels, a section, a long chord name."""
    chart = [
        [chord("A", "minor")],
        [chord("F#", "half-diminished", "C")],
        [chord("D", "minor-seventh"), chord("G", "dominant")],
        [chord("E", "dominant")],
    ]
    text = """0:1:A2:5/0:0:A 1:1:C3:5/3:3 2:1:D3:4/0:0 4:1/2:E3:4/2:2:B 9/2:1/2:G3:3/0:0 5:1:A3:3/2:2
    8:3/2:C4:2/1:1:A′ 19/2:1/2:D4:2/3:3 10:2:E4:1/0:0 12:1:G4:1/3:3 13:1/2:E4:1/0:0 27/2:1/2:D4:2/3:3"""
    return lead("Motifs", bars("4/4", chart, {0: "Question", 2: "Answer"}), line(text, GUITAR), GUITAR)


def triplets_and_ties() -> Score:
    """Triplets of eighths and quarters, sixteenths, a note tied over the bar line and inside a bar."""
    chart = [[chord("A", "minor-seventh")], [chord("D", "dominant-ninth")], [chord("A", "minor-seventh")], [None]]
    text = """0:1/3:A3:3/2:2 1/3:1/3:C4:2/1:1 2/3:1/3:D4:2/3:3 1:1/3:E4:1/0:0 5/3:1/3:G4:1/3:3 2:1/4:A4:1/5:4
    9/4:1/4:G4:1/3:3 5/2:1/4:E4:1/0:0 11/4:1/4:D4:2/3:3 7/2:2:C4:2/1:1 6:2/3:A3:3/2:2 20/3:2/3:G3:3/0:0
    22/3:2/3:A3:3/2:2 8:3/4:C4:2/1:1 35/4:1/4:D4:2/3:3 19/2:5/2:E4:1/0:0 12:1:A2:5/0:0"""
    return lead("Triplets and ties", bars("4/4", chart), line(text, GUITAR), GUITAR)


def slow_twelve() -> Score:
    """12/8 with held notes, sixteenths and triplets inside an eighth."""
    chart = [[chord("E", "dominant")], [chord("A", "dominant"), chord("E", "dominant")]]
    text = """0:1/2:E3:4/2:2:A 1/2:1/2:G3:3/0:0 1:1/2:A3:3/2:2 3/2:1:B3:2/0:0 5/2:1/2:D4:2/3:3 3:3/2:E4:1/0:0
    6:1/4:G4:1/3:3 25/4:1/4:E4:1/0:0 13/2:1/2:D4:2/3:3 7:2:B3:2/0:0 9:1/6:A3:3/2:2 55/6:1/6:G3:3/0:0
    28/3:1/6:E3:4/2:2 19/2:1:D3:4/0:0"""
    return lead("Slow twelve", bars("12/8", chart), line(text, GUITAR, "E"), GUITAR, 1)


def seven() -> Score:
    """7/8 in 2+2+3."""
    chart = [[chord("D", "minor")], [chord("C", "major")], [chord("D", "minor")]]
    text = """0:1/2:D3:4/0:0 1/2:1/2:F3:4/3:3 1:1/2:G3:3/0:0 3/2:1/2:A3:3/2:2 2:1/2:C4:2/1:1 5/2:1/2:D4:2/3:3
    3:1/2:F4:1/1:1 4:1:E4:1/0:0 5:3/2:C4:2/1:1 7:5/2:D4:2/3:3"""
    return lead("Seven", bars("7/8", chart), line(text, GUITAR, "D"), GUITAR, -1)


def low_bass() -> Score:
    """A five-string bass in five flats."""
    chart = [[chord("Bb", "minor")], [chord("Gb", "major-seventh"), chord("F", "augmented-seventh")]]
    text = "0:1:Bb1:4/6:1 1:1/2:Db2:4/9:4 3/2:1/2:F2:3/8:3 2:1:Db1:5/2:1 4:3/2:Gb1:5/7:2 6:1:A1:3/0:0 7:1:F1:5/6:1"
    return lead("Low bass", bars("4/4", chart), line(text, BASS5, "Bb"), BASS5, -5)


def ukulele() -> Score:
    """Re-entrant tuning, sounding as written, with a chord."""
    chart = [[chord("C", "major")], [chord("A", "minor-seventh")]]
    text = (
        "0:1:G4:4/0:0 1:1:C4:3/0:0 2:1:E4:2/0:0 3:1:A4:1/0:0 4:2:G4:4/0 4:2:C4:3/0 4:2:E4:2/0 4:2:A4:1/0 6:1:C5:1/3:3"
    )
    return lead("Ukulele", bars("4/4", chart), line(text, UKULELE, "C"), UKULELE)


def accidentals() -> Score:
    """Many accidentals in five sharps: double sharps, naturals, the same line twice in a bar, over a tie."""
    chart = [
        [chord("G#", "half-diminished")],
        [chord("C#", "minor-11th"), chord("F#", "dominant-13th", "A#")],
        [chord("B", "major-sixth")],
    ]
    text = """0:1/2:G#3:3/1:1 1/2:1/2:A3:3/2:2 1:1/2:A#3:3/3:3 3/2:1/2:Fx3:4/5:4 2:1/2:B3:2/0:0
    5/2:1/2:B#3:2/1:1 3:1/2:D4:2/3:3 7/2:1:D#4:2/4:4 9/2:1/2:D#4:2/4:4 5:1/2:E#4:1/1:1 11/2:1/2:E4:1/0:0
    6:1/2:Fx4:1/3:3 13/2:1/2:G#4:1/4:4 7:1:G4:1/3:3 8:4:F#4:1/2:2"""
    return lead("Accidentals", bars("4/4", chart), line(text, GUITAR, "B"), GUITAR, 5)


def with_capo() -> Score:
    """A capo at the third fret: open strings print as 0."""
    chart = [[chord("C", "minor")], [chord("Bb", "suspended-fourth")]]
    text = "0:1:C3:5/3:0 1:1:Eb3:5/6:3 2:1:F3:4/3:0 3:1:G3:4/5:2 4:2:Bb3:3/3:0 6:2:C4:3/5:2"
    return lead("Capo", bars("4/4", chart), line(text, CAPO_GUITAR, "C"), CAPO_GUITAR, -3)


def dense() -> Score:
    """Sixteenths without rest over eight bars."""
    walk = [
        "A2:5/0",
        "C3:5/3",
        "D3:4/0",
        "E3:4/2",
        "G3:3/0",
        "A3:3/2",
        "C4:2/1",
        "D4:2/3",
        "E4:1/0",
        "G4:1/3",
        "A4:1/5",
    ]
    order = [*range(11), *range(9, 0, -1)]
    words = [f"{i}/4:1/4:{walk[order[i % 20]]}:{i % 4}" for i in range(128)]
    chart = [[chord("A", "minor-seventh")]] * 8
    return lead("Dense", bars("4/4", chart), line(" ".join(words), GUITAR), GUITAR)


def two_voices() -> Score:
    """A bass note held under a line; no degrees, no fingers."""
    text = "0:3:A2:5/0 0:1:C4:2/1 1:1:D4:2/3 2:1:E4:1/0 3:1:G4:1/3"
    return lead("Two voices", bars("4/4", [[chord("A", "minor")]]), line(text, GUITAR), GUITAR)


def many_strings() -> Score:
    """Twelve strings."""
    text = "0:1:E5:1/0 1:1:A3:5/0 2:1:E2:12/0 3:1:C3:11/3"
    return lead("Many strings", bars("4/4", [[chord("A", "minor")]]), line(text, TWELVE_STRINGS), TWELVE_STRINGS)


def few_strings() -> Score:
    """Three strings, and a change of meter."""
    four, three = Meter.parse("4/4"), Meter.parse("3/4")
    measures = (
        Measure(
            number=1,
            onset=Fraction(0),
            meter=four,
            chords=(ChordSpan(onset=Fraction(0), duration=Fraction(4), chord=chord("D", "power")),),
        ),
        Measure(
            number=2,
            onset=Fraction(4),
            meter=three,
            chords=(ChordSpan(onset=Fraction(4), duration=Fraction(3), chord=chord("G", "major")),),
        ),
    )
    text = "0:1:D3:3/0 1:1:A3:2/0 2:2:D4:1/0 4:2:B3:2/2 6:1:G3:3/5"
    return lead("Few strings", measures, line(text, THREE_STRINGS, "D"), THREE_STRINGS, 2)


def touched() -> Score:
    """Every way to play a note: hammer-ons and pull-offs (one after a tie), bends, slides, vibrato, palm mutes, a dead
    note, on a bar line and next to each other.
    """
    chart = [[chord("A", "minor-seventh")], [chord("D", "dominant")], [chord("A", "minor-seventh")], [None]]
    text = """0:1/2:C4:3/5:1:A 1/2:1/2:D4:3/7:3 1:1/2:C4:3/5:1 3/2:1/2:A3:4/7:3 2:2:A4:2/8:4
    4:1/2:C3:6/8:4:B 9/2:1/2:A2:6/5:1 5:1/2:A2:6/5:1 11/2:1/2:C3:6/8:4 6:1/2:E3:5/7:3 7:1/2:A3:4/7
    15/2:1:A3:4/7:3:C 17/2:1/2:G3:4/5:1 9:1:A3:4/7:1 10:2:C4:3/5:1
    12:3/2:E4:3/7:3 27/2:1/2:E4:2/5:1 14:1/2:G4:2/8:4 29/2:3/2:E4:2/5:1"""
    palm = Touch(damping=Damping.PALM)
    touches = {
        1: Touch(start=Start.HAMMERED),
        2: Touch(start=Start.PULLED),
        4: Touch(start=Start.BENT, bend=Bend(semitones=2), vibrato=True),
        **dict.fromkeys(range(5, 9), palm),
        10: DEAD,
        12: Touch(start=Start.PULLED),
        13: Touch(start=Start.SLID),
        14: Touch(vibrato=True),
        15: Touch(start=Start.BENT, bend=Bend(semitones=2)),
        17: Touch(start=Start.HAMMERED),
        18: Touch(start=Start.PULLED, vibrato=True),
    }
    notes = tuple(replace(note, touch=touches.get(i, PLAIN)) for i, note in enumerate(line(text, GUITAR)))
    return lead("Touched", bars("4/4", chart), notes, GUITAR)


ALL = (
    motifs,
    triplets_and_ties,
    slow_twelve,
    seven,
    low_bass,
    ukulele,
    accidentals,
    with_capo,
    dense,
    two_voices,
    many_strings,
    few_strings,
)

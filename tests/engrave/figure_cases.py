"""Positions for figure tests, laid by hand or drawn at random, without the search."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import Hand, Instrument, StringFret
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Note, Part, PartRole, Score
from phrasewright.theory.chord import CHORD_KINDS, Action, Alteration, Chord
from phrasewright.theory.count import Count, parse_count
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
GUITAR = "E4 B3 G3 D3 A2 E2"
BASS = "G2 D2 A1 E1"
UKULELE = "A4 E4 C4 G4"


def instrument(
    tuning: str = GUITAR, *, name: str = "guitar", capo: int = 0, hand: Hand = Hand.LEFT, frets: int = 22
) -> Instrument:
    pitches = tuple(Pitch.parse(word) for word in tuning.split())
    return Instrument(
        id=name, name=name, tuning=pitches, frets=frets, scale_length_mm=648.0, capo=capo, fretting_hand=hand
    )


def position(
    on: Instrument,
    root: str = "A",
    kind: str = "minor-pentatonic",
    *,
    low: int = 0,
    high: int = 3,
    strings: tuple[int, ...] = (),
    added: tuple[tuple[int, int], ...] = (),
    style: PositionStyle = PositionStyle.OPEN,
) -> Position:
    """Every scale note between two frets (no pitch twice), plus the added places."""
    scale = Scale(NoteName.parse(root), SCALE_KINDS[kind])
    places = [
        StringFret(string, fret)
        for string in (strings or tuple(on.strings))
        for fret in range(max(low, on.capo), high + 1)
    ]
    chosen: dict[int, PositionNote] = {}
    for place in [*places, *(StringFret(*pair) for pair in added)]:
        midi = on.midi_at(place)
        degree = scale.degree_at(midi)
        if degree is None or midi in chosen:
            continue
        finger = 0 if place.fret == on.capo else min(max(place.fret - max(low, on.capo + 1) + 1, 1), 4)
        chosen[midi] = PositionNote(
            place=place,
            finger=finger,
            pitch=Pitch.from_midi(midi, degree.above(scale.root)),
            degree=degree,
            cycle=1,
            added=(place.string, place.fret) in added,
        )
    return Position(instrument=on, scale=scale, style=style, notes=tuple(chosen[midi] for midi in sorted(chosen)))


def a_minor_open(hand: Hand = Hand.LEFT) -> Position:
    """A minor pentatonic from the open fifth string up, with the high A added."""
    return position(instrument(hand=hand), strings=(1, 2, 3, 4, 5), added=((1, 5),))


@st.composite
def instruments(draw: st.DrawFn) -> Instrument:
    pitches = draw(st.lists(st.integers(28, 76), min_size=3, max_size=12))
    names = {pitch: NoteName.parse(ROOTS[pitch % 12]) for pitch in pitches}
    frets = draw(st.integers(12, 36))
    return Instrument(
        id="random",
        name="an instrument",
        tuning=tuple(Pitch.from_midi(pitch, names[pitch]) for pitch in pitches),
        frets=frets,
        scale_length_mm=draw(st.floats(300.0, 900.0)),
        capo=draw(st.integers(0, min(7, frets - 8))),
        fretting_hand=draw(st.sampled_from(Hand)),
    )


@st.composite
def positions(draw: st.DrawFn) -> Position:
    """Any scale in any window of any instrument; sometimes along one string."""
    on = draw(instruments())
    scale = Scale(
        NoteName.parse(draw(st.sampled_from(ROOTS))),
        SCALE_KINDS[draw(st.sampled_from(sorted(SCALE_KINDS)))],
    )
    one_string = draw(st.booleans())
    low = draw(st.integers(on.capo, on.frets - 5))
    high = draw(st.integers(low + 4, on.frets)) if one_string else low + 4
    strings = (draw(st.sampled_from(list(on.strings))),) if one_string else tuple(on.strings)
    notes = []
    for string in strings:
        for fret in range(low, high + 1):
            degree = scale.degree_at(on.midi_at(StringFret(string, fret)))
            if degree is None:
                continue
            notes.append(
                PositionNote(
                    place=StringFret(string, fret),
                    finger=0 if fret == on.capo else min(fret - low + 1, 4) or 1,
                    pitch=Pitch.from_midi(on.midi_at(StringFret(string, fret)), degree.above(scale.root)),
                    degree=degree,
                    cycle=1,
                    added=draw(st.booleans()),
                )
            )
    notes.sort(key=lambda note: (note.pitch.midi, note.place))
    notes[:1] = [replace(note, added=False) for note in notes[:1]]  # a hand has a note of its own
    style = PositionStyle.ONE_STRING if one_string else PositionStyle.BOX
    return Position(instrument=on, scale=scale, style=style, notes=tuple(notes))


def chord(root: str, kind: str, *, bass: str = "", alter: str = "") -> Chord:
    return Chord(
        root=NoteName.parse(root),
        kind=CHORD_KINDS[kind],
        bass=NoteName.parse(bass) if bass else None,
        alterations=(Alteration(Action.ALTER, Degree.parse(alter)),) if alter else (),
    )


@st.composite
def chords(draw: st.DrawFn) -> Chord | None:
    if draw(st.integers(0, 9)) == 0:
        return None
    return chord(
        draw(st.sampled_from(ROOTS)),
        draw(st.sampled_from(sorted(CHORD_KINDS))),
        bass=draw(st.sampled_from(["", "", *ROOTS])),
        alter=draw(st.sampled_from(["", "", "b9", "#11", "b13"])),
    )


@st.composite
def charts(draw: st.DrawFn, meter: Meter | None = None) -> Chart:
    """One to ten bars, a chord on any units of each, sections here and there."""
    meter = meter or draw(st.sampled_from([Meter(2, 4), Meter(3, 4), Meter(4, 4), Meter(6, 8), Meter(12, 8)]))
    bars = []
    for _ in range(draw(st.integers(1, 10))):
        count = draw(st.sampled_from([1, 1, 2]))
        cut = draw(st.integers(1, meter.upper - 1))
        lengths = [meter.bar] if count == 1 else [cut * meter.unit, (meter.upper - cut) * meter.unit]
        section = draw(st.sampled_from(["", "", "", "Verse", "Bridge"]))
        bars.append(ChartBar(chords=tuple((draw(chords()), length) for length in lengths), section=section))
    return Chart(meter=meter, bars=tuple(bars))


@st.composite
def scores(draw: st.DrawFn) -> Score:
    """A lead over a chart: notes on halves, thirds and quarters of a unit, with gaps, none over another."""
    laid = draw(positions())
    chart = draw(charts())
    measures = chart.unfold(draw(st.integers(1, 8)))
    end, unit = measures[-1].end, chart.meter.unit
    notes, at = [], Fraction(0)
    while laid.notes and at < end and len(notes) < 24:
        at += draw(st.sampled_from([Fraction(0), Fraction(0), Fraction(1), Fraction(1, 2), Fraction(3)])) * unit
        parts = draw(st.sampled_from([(1,), (2, 2), (4, 2, 4), (3, 3, 3), (Fraction(1, 2),)]))
        for part in parts:
            length = unit / part
            if at < end:
                spot = draw(st.sampled_from(laid.notes))
                notes.append(
                    Note(
                        onset=at,
                        duration=min(length, end - at),
                        pitch=spot.pitch,
                        place=spot.place,
                        finger=spot.finger,
                        degree=spot.degree,
                        label=draw(st.sampled_from(["", "", "A", "B"])),
                    )
                )
            at += length
    part = Part(role=PartRole.LEAD, name="lead", notes=tuple(notes), instrument=laid.instrument)
    return Score(title="A study", measures=measures, parts=(part,), fifths=0, words="Leave the rests open.")


@st.composite
def motifs(draw: st.DrawFn) -> Motif:
    laid = draw(positions().filter(lambda p: bool(p.notes)))
    return Motif(laid, tuple(draw(st.lists(st.integers(0, len(laid.notes) - 1), min_size=2, max_size=5))))


COUNTS = {
    2: ("1 2", "1 &", "(1) & 3", "1 - 3", "2 | 1"),
    3: ("1 2 3", "1 trip let", "1 - & 4", "1 | 1 2"),
    4: ("1 2 3 4", "1 & 2 &", "1 e & a", "1 2 | 3 4"),
    5: ("1 & 2 & 3", "1 e & a 2", "1 2 3 4 | 1"),
}


@st.composite
def counted_motifs(draw: st.DrawFn) -> tuple[Motif, Count]:
    motif = draw(motifs())
    return motif, parse_count(draw(st.sampled_from(COUNTS[len(motif.steps)])), Meter(4, 4))

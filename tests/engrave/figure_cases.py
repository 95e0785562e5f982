"""Positions for figure tests, laid by hand or drawn at random, without the search."""

from __future__ import annotations

from hypothesis import strategies as st

from phrasewright.neck.instrument import Hand, Instrument, StringFret
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

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
    names = {pitch: NoteName.parse("C C# D Eb E F F# G Ab A Bb B".split()[pitch % 12]) for pitch in pitches}
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
        NoteName.parse(draw(st.sampled_from("C C# D Eb E F F# G Ab A Bb B".split()))),
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
    style = PositionStyle.ONE_STRING if one_string else PositionStyle.BOX
    return Position(instrument=on, scale=scale, style=style, notes=tuple(notes))

"""Positions laid by hand rule, and generators over them, for the melody and compose tests.

The rule: under frets f..f+4 of six strings in fourths every semitone has a place, so every scale tone between the
lowest and the highest is taken once, on the lowest-sounding string that has it.
"""

from __future__ import annotations

from hypothesis import strategies as st

from phrasewright.melody.enumerate import Repeats, motifs_of
from phrasewright.melody.motif import Motif
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.place import Position, PositionNote, PositionStyle
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale

GUITAR = Instrument(
    id="guitar",
    name="guitar",
    tuning=tuple(Pitch.parse(text) for text in ("E4", "B3", "G3", "D3", "A2", "E2")),
    frets=22,
    scale_length_mm=647.7,
)
METERS = tuple(Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8"))
NAMES = tuple(NoteName.at_fifths(fifths) for fifths in range(-6, 7))


def box(root: str, kind: str, fret: int, *, strings: tuple[int, ...] = (6, 5, 4, 3, 2, 1)) -> Position:
    """Every tone of a scale under frets ``fret`` to ``fret + 4``."""
    scale = Scale(NoteName.parse(root), SCALE_KINDS[kind])
    places: dict[int, StringFret] = {}
    for string in strings:
        for at in range(fret, fret + 5):
            pitch_midi = GUITAR.tuning[string - 1].midi + at
            if scale.degree_at(pitch_midi) is not None:
                places.setdefault(pitch_midi, StringFret(string, at))
    lowest = min(places)
    notes = tuple(_note(scale, pitch_midi, places[pitch_midi], fret, lowest) for pitch_midi in sorted(places))
    style = PositionStyle.OPEN if fret == 0 else PositionStyle.BOX
    return Position(instrument=GUITAR, scale=scale, style=style, notes=notes)


def _note(scale: Scale, pitch_midi: int, place: StringFret, fret: int, lowest: int) -> PositionNote:
    degree = scale.degree_at(pitch_midi)
    assert degree is not None
    return PositionNote(
        place=place,
        finger=0 if place.fret == 0 else min(4, max(1, place.fret - max(fret, 1) + 1)),
        pitch=Pitch.from_midi(pitch_midi, degree.above(scale.root)),
        degree=degree,
        cycle=(pitch_midi - lowest) // 12 + 1,
    )


def open_a_minor() -> Position:
    """Open position, fifth string up: ten notes in two cycles of five."""
    return box("A", "minor-pentatonic", 0, strings=(5, 4, 3, 2, 1))


def chord(root: str, kind: str = "dominant") -> Chord:
    """A chord by the names of its root and kind."""
    return Chord(root=NoteName.parse(root), kind=CHORD_KINDS[kind])


def positions() -> st.SearchStrategy[Position]:
    """Any scale of the catalogue on any root at any fret."""
    kinds = st.sampled_from(sorted(SCALE_KINDS))
    return st.builds(
        lambda name, kind, fret: box(str(name), kind, fret), st.sampled_from(NAMES), kinds, st.integers(0, 12)
    )


@st.composite
def motifs(draw: st.DrawFn) -> Motif:
    """Any walk of two to five notes over any position."""
    position = draw(positions())
    steps = draw(st.lists(st.integers(0, len(position.notes) - 1), min_size=2, max_size=5))
    return Motif(position, tuple(steps))


def chords() -> st.SearchStrategy[Chord]:
    """Any kind of chord on any usual root."""
    return st.builds(
        lambda name, kind: Chord(root=name, kind=CHORD_KINDS[kind]),
        st.sampled_from(NAMES),
        st.sampled_from(sorted(CHORD_KINDS)),
    )


def walks(position: Position, size: int, step: int, repeats: Repeats = Repeats.NEVER) -> int:
    """How many motifs the enumeration gives."""
    return sum(1 for _ in motifs_of(position, sizes=(size,), largest_step=step, repeats=repeats))

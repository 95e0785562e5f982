"""Short spellings for the neck tests, and generators of scales, instruments and requests."""

from __future__ import annotations

from hypothesis import strategies as st

from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale, ScaleKind, custom_scale_kind

_NAMES = ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B")
ROOTS = tuple(NoteName.parse(name) for name in _NAMES)
CHROMATIC = tuple(Degree.parse(word) for word in ["1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7"])


def scale(root: str, kind: str) -> Scale:
    """``scale("A", "minor-pentatonic")``."""
    return Scale(NoteName.parse(root), SCALE_KINDS[kind])


def frets(position: Position) -> str:
    """Frets string by string, highest string number first: ``5 8 | 5 7 | ...``."""
    return _rows([(note.place.string, str(note.place.fret)) for note in position.notes])


def fingers(position: Position) -> str:
    """Fingers string by string, highest string number first."""
    return _rows([(note.place.string, str(note.finger)) for note in position.notes])


def _rows(pairs: list[tuple[int, str]]) -> str:
    strings = sorted({string for string, _ in pairs}, reverse=True)
    return " | ".join(" ".join(text for string, text in pairs if string == wanted) for wanted in strings)


def pitches(low_midi: int, gaps: tuple[int, ...]) -> tuple[Pitch, ...]:
    """Open strings from the lowest up by gaps in semitones, returned string 1 first."""
    midi = [low_midi + sum(gaps[:index]) for index in range(len(gaps) + 1)]
    return tuple(Pitch.from_midi(number, _sharp(number)) for number in reversed(midi))


def _sharp(pitch_midi: int) -> NoteName:
    return NoteName.parse(["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"][pitch_midi % 12])


@st.composite
def scale_kinds(draw: st.DrawFn) -> ScaleKind:
    """A kind from the table, or any five to twelve degrees with a root."""
    if draw(st.booleans()):
        return draw(st.sampled_from(sorted(SCALE_KINDS.values(), key=lambda kind: kind.id)))
    others = draw(st.sets(st.sampled_from(CHROMATIC[1:]), min_size=4, max_size=11))
    return custom_scale_kind(tuple(degree for degree in CHROMATIC if degree == CHROMATIC[0] or degree in others))


def scales() -> st.SearchStrategy[Scale]:
    return st.builds(Scale, st.sampled_from(ROOTS), scale_kinds())


@st.composite
def tunings(draw: st.DrawFn) -> tuple[Pitch, ...]:
    """Three to twelve strings: in fourths and thirds, in fifths, or anyhow, some of them re-entrant."""
    gap = draw(st.sampled_from([st.integers(4, 5), st.just(5), st.just(7), st.integers(0, 9)]))
    gaps = tuple(draw(st.lists(gap, min_size=2, max_size=11)))
    tuning = pitches(draw(st.integers(24, 45)), gaps)
    return tuple(draw(st.permutations(tuning))) if draw(st.integers(0, 4)) == 0 else tuning


@st.composite
def instruments(draw: st.DrawFn) -> Instrument:
    frets = draw(st.integers(12, 36))
    return Instrument(
        id="any",
        name="any",
        tuning=draw(tunings()),
        frets=frets,
        scale_length_mm=draw(st.floats(300.0, 900.0)),
        capo=draw(st.integers(0, min(7, frets - 5))),
    )


@st.composite
def requests(draw: st.DrawFn, instrument: Instrument) -> PositionRequest:
    """Any wish that may or may not be met on the instrument's own strings."""
    lowest = draw(st.integers(1, len(instrument.tuning)))
    return PositionRequest(
        style=draw(st.sampled_from(PositionStyle)),
        fret=draw(st.none() | st.integers(0, instrument.frets + 2)),
        lowest_string=draw(st.none() | st.just(lowest)),
        highest_string=draw(st.none() | st.integers(1, lowest)),
        string=draw(st.none() | st.just(lowest)),
        notes_per_string=draw(st.integers(2, 4)),
        max_stretch_mm=draw(st.none() | st.floats(60.0, 200.0)),
        added_above=draw(st.integers(0, 2)),
        added_below=draw(st.integers(0, 2)),
    )

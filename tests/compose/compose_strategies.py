"""Material for exercises and studies: any position, meter, chart and space."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from hypothesis import strategies as st

from phrasewright.compose.material import Material
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import choose_shelf
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import Position
from phrasewright.neck.search import box, open_position
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import PartRole, Score
from phrasewright.theory.chord_symbol import parse_optional_chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

GUITAR = instrument("guitar")
METERS = tuple(Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8"))
BLUES = "E7 A7 E7 E7 A7 A7 E7 E7 B7 A7 E7 B7"


def chart(symbols: str, meter: Meter) -> Chart:
    """One bar for each word; ``A7/D7`` style pairs are not read; ``NC`` is no chord."""
    bars = (ChartBar(chords=((parse_optional_chord(word), meter.bar),)) for word in symbols.split())
    return Chart(meter=meter, bars=tuple(bars))


@lru_cache
def e_minor() -> Position:
    """E minor pentatonic in open position."""
    return open_position(Scale(NoteName("E"), SCALE_KINDS["minor-pentatonic"]), GUITAR)


def material(
    position: Position | None = None,
    symbols: str = BLUES,
    meter: Meter | None = None,
    *,
    sizes: tuple[int, ...] = (2, 3, 4),
    how_many: int = 5,
    space: Fraction = Fraction(2, 5),
    seed: int = 0,
    idiom: Idiom = Idiom.BLUES,
) -> Material:
    """A lesson's worth of material with sensible defaults."""
    tune = chart(symbols, meter or Meter(4, 4))
    shelf = choose_shelf(position or e_minor(), sizes=sizes, how_many=how_many, chords=tune.chords, idiom=idiom)
    return Material(shelf=shelf, chart=tune, space=space, idiom=idiom, seed=seed)


@lru_cache
def found_box(root: NoteName, kind: str, fret: int) -> Position:
    """The box of a scale nearest to a fret."""
    return box(Scale(root, SCALE_KINDS[kind]), GUITAR, near_fret=fret)


def positions() -> st.SearchStrategy[Position]:
    """Boxes of a spread of scales, found on the neck."""
    kinds = ("minor-pentatonic", "major-pentatonic", "blues", "dorian", "harmonic-minor", "whole-tone")
    roots = tuple(NoteName.parse(text) for text in ("E", "A", "Bb", "F#", "C"))
    return st.builds(
        found_box,
        st.sampled_from(roots),
        st.sampled_from(kinds),
        st.sampled_from((3, 5, 7)),
    )


@st.composite
def materials(draw: st.DrawFn) -> Material:
    """Any position, meter, chart length (also odd ones, also without chords), sizes, space and seed."""
    symbols = draw(st.lists(st.sampled_from(("E7", "Am7", "Dmaj7", "B5", "NC")), min_size=1, max_size=13))
    sizes = draw(st.sets(st.sampled_from((2, 3, 4, 5)), min_size=1))
    return material(
        draw(positions()),
        " ".join(symbols),
        draw(st.sampled_from(METERS)),
        sizes=tuple(sizes),
        how_many=draw(st.integers(1, 6)),
        space=draw(st.sampled_from((Fraction(0), Fraction(1, 4), Fraction(2, 5), Fraction(3, 5), Fraction(9, 10)))),
        seed=draw(st.integers(0, 999)),
        idiom=draw(st.sampled_from(Idiom)),
    )


def silence(score: Score) -> Fraction:
    """Share of the score in which the lead is silent."""
    return 1 - sum((note.duration for note in score.part(PartRole.LEAD).notes), Fraction(0)) / score.end


def check_lead(score: Score, position: Position) -> None:
    """The lead is monophonic, inside the score, in the position with its places, and the bars are the meter's."""
    part = score.part(PartRole.LEAD)
    assert part.instrument == position.instrument
    assert part.voice == "guitar"
    assert all(a.end <= b.onset for a, b in zip(part.notes, part.notes[1:], strict=False))
    assert all(note.end <= score.end for note in part.notes)
    for note in part.notes:
        assert note.place is not None
        held = position.note_at(note.place)
        assert held is not None
        assert (held.pitch, held.finger, held.degree) == (note.pitch, note.finger, note.degree)
    for measure in score.measures:
        assert sum((span.duration for span in measure.chords), Fraction(0)) == measure.meter.bar
    assert score.fifths == position.scale.signature_fifths

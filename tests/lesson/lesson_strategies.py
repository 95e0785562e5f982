"""Generators of charts and lessons, in one place."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from phrasewright.lesson.chart_text import bar_split
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter

METERS = tuple(Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8"))
SYMBOLS = "C F#m7b5 Bb7 Em7 A7/G Dsus4 Ebmaj7 G#dim7 Am(maj7) C6 E7(#9) B7alt D9 F5 Caug A13"
CHORDS = tuple(parse_chord(text) for text in SYMBOLS.split())
LABELS = st.text("ABC'abc 1234éß-.,:/%", min_size=1, max_size=12).map(lambda text: " ".join(text.split()))


def chords() -> st.SearchStrategy[Chord | None]:
    return st.none() | st.sampled_from(CHORDS)


@st.composite
def bars(draw: st.DrawFn, meter: Meter) -> ChartBar:
    """A bar whose chords change on counted units."""
    shares = [n for n in range(1, meter.upper + 1) if bar_split(meter, n)]
    lengths = list(bar_split(meter, draw(st.sampled_from(shares))) or ())
    while len(lengths) > 1 and draw(st.booleans()):
        at = draw(st.integers(0, len(lengths) - 2))
        lengths[at : at + 2] = [lengths[at] + lengths[at + 1]]
    return ChartBar(
        chords=tuple((draw(chords()), Fraction(length)) for length in lengths),
        section=draw(st.just("") | LABELS),
    )


@st.composite
def charts(draw: st.DrawFn, meter: Meter | None = None) -> Chart:
    meter = meter or draw(st.sampled_from(METERS))
    return Chart(meter=meter, bars=tuple(draw(st.lists(bars(meter), min_size=1, max_size=10))))

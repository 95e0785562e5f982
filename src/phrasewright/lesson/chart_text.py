"""Charts as text, read and written.

    [A]                           a section's name, before its first bar
    | Em7 | A7 | % | N.C. |       a bar a chord; % is the bar before again; N.C. is no chord
    | F#m7b5 B7 |                 chords that share a bar share it evenly
    | Em7 . . A7 |                one word a beat; a dot (or /) holds the chord
    |: Am7 | D7 :| x3             play what stands between the repeat signs three times (twice without a number)
    |: Am7 | 1. D7 :| 2. G |      a first and a second ending: Am7 D7 Am7 G
    | Em7! | A7 |                 a stop: the band strikes Em7 short and is silent until A7
    (D7 .) | Em7 |                a pick-up before the first bar, one word a beat
    | 3/4 Em7 | A7 | 4/4 D7 |     a change of meter, from here on
    | @80% Em7 | @rit A7 |        a change of tempo, from here on; slower through one bar
    order: A A B A                the order of the sections; [Coda] and @coda: see ``chart_directions``

A line end also ends a bar. A bar may hold one word; as many words as the meter has felt groups, or a number that
divides them (two in 4/4, 6/8 and 12/8); one word a counted unit; or, where the unit is a quarter note, one word an
eighth. Repeats, endings and order are unfolded into bars, and a section's name stays on its first bar. The signs up to
the endings are common practice on hand-written charts (from memory); the others are plain words for what is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from phrasewright.lesson.chart_reader import STOP, ChartError, ChartReader, bar_split, sentence
from phrasewright.lesson.chart_repeats import MAX_BARS, ChartProblem
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import NO_CHORD
from phrasewright.theory.meter import Meter

__all__ = ["MAX_BARS", "ChartError", "ChartProblem", "bar_split", "read_chart", "sentence", "write_chart"]

BARS_A_LINE = 4


def read_chart(text: str, meter: Meter) -> Chart:
    """Read a chart in a meter, repeats and endings unfolded. Raises ChartError with all problems."""
    return ChartReader(meter).read(text)


def write_chart(chart: Chart) -> str:
    """The chart as text, four bars a line; ``read_chart`` gives it back.

    Raises ValueError for a chord change that it has no sign for.
    """
    lines: list[str] = []
    in_line = BARS_A_LINE
    meter, pace = chart.meter, Fraction(1)
    if chart.pickup is not None:
        lines.append(f"({_pickup_words(chart.pickup, chart.meter)})")
    for bar in (*chart.bars, *chart.coda):
        if bar.section:
            lines.append(f"[{bar.section}]")
        if bar.section or in_line == BARS_A_LINE:
            lines.append("|")
            in_line = 0
        told = [*_directions(bar, chart, meter, pace), _bar_words(bar, chart.meter_of(bar))]
        lines[-1] += f" {' '.join(told)}{' @coda' if bar.to_coda else ''} |"
        meter, pace = chart.meter_of(bar), bar.pace
        in_line += 1
    return "".join(f"{line}\n" for line in lines)


def _directions(bar: ChartBar, chart: Chart, meter: Meter, pace: Fraction) -> Iterator[str]:
    """What changes at a bar after one of this meter and pace."""
    if chart.meter_of(bar) != meter:
        yield str(chart.meter_of(bar))
    if bar.pace != pace:
        yield f"@{float(100 * bar.pace):g}%"
    if bar.slows:
        yield "@rit"


def _pickup_words(bar: ChartBar, meter: Meter) -> str:
    """One word a beat."""
    return " ".join(_on_grid(_names(bar), bar.chords, iter((meter.unit,) * int(bar.length / meter.unit))))


def _names(bar: ChartBar) -> list[str]:
    return [
        (NO_CHORD if chord is None else chord.symbol) + STOP * (index in bar.stops)
        for index, (chord, _) in enumerate(bar.chords)
    ]


def _bar_words(bar: ChartBar, meter: Meter) -> str:
    lengths = tuple(length for _, length in bar.chords)
    names = _names(bar)
    if bar_split(meter, len(names)) == lengths:
        return " ".join(names)
    for count in (len(meter.groups), meter.upper, 2 * meter.upper):
        words = _on_grid(names, bar.chords, iter(bar_split(meter, count) or ()))
        if words:
            return " ".join(words)
    raise ValueError(f"chords that change so cannot be written in a chart: {lengths}")


def _on_grid(
    names: list[str], chords: tuple[tuple[Chord | None, Fraction], ...], grid: Iterator[Fraction]
) -> list[str]:
    """One word a grid step, holds as dots; nothing when a chord does not fill whole steps."""
    words: list[str] = []
    for name, (_, length) in zip(names, chords, strict=True):
        words.append(name)
        filled = next(grid, length + 1)
        while filled < length:
            words.append(".")
            filled += next(grid, length + 1)
        if filled != length:
            return []
    return words

"""Charts as text, read and written.

    [A]                           a section's name, before its first bar
    | Em7 | A7 | % | N.C. |       a bar a chord; % is the bar before again; N.C. is no chord
    | F#m7b5 B7 |                 chords that share a bar share it evenly
    | Em7 . . A7 |                one word a beat; a dot (or /) holds the chord
    |: Am7 | D7 :| x3             play what stands between the repeat signs three times (twice without a number)
    |: Am7 | 1. D7 :| 2. G |      a first and a second ending: Am7 D7 Am7 G

A line end also ends a bar. A bar may hold one word; as many words as the meter has felt groups, or a number that
divides them (two in 4/4, 6/8 and 12/8); one word a counted unit; or, where the unit is a quarter note, one word an
eighth. Repeats and endings are unfolded into bars, and a section's name stays on its first bar. The signs are common
practice on hand-written charts (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from phrasewright.lesson.chart_reader import ChartError, ChartReader, bar_split, sentence
from phrasewright.lesson.chart_repeats import MAX_BARS, ChartProblem
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord_symbol import NO_CHORD
from phrasewright.theory.meter import Meter

__all__ = ["MAX_BARS", "ChartError", "ChartProblem", "bar_split", "read_chart", "sentence", "write_chart"]

BARS_A_LINE = 4


def read_chart(text: str, meter: Meter) -> Chart:
    """Read a chart in a meter, repeats and endings unfolded. Raises ChartError with all problems."""
    return Chart(meter=meter, bars=ChartReader(meter).read(text))


def write_chart(chart: Chart) -> str:
    """The chart as text, four bars a line; ``read_chart`` gives it back.

    Raises ValueError for a chord change that it has no sign for.
    """
    lines: list[str] = []
    in_line = BARS_A_LINE
    for bar in chart.bars:
        if bar.section:
            lines.append(f"[{bar.section}]")
        if bar.section or in_line == BARS_A_LINE:
            lines.append("|")
            in_line = 0
        lines[-1] += f" {_bar_words(bar, chart.meter)} |"
        in_line += 1
    return "".join(f"{line}\n" for line in lines)


def _bar_words(bar: ChartBar, meter: Meter) -> str:
    lengths = tuple(length for _, length in bar.chords)
    names = [NO_CHORD if chord is None else chord.symbol for chord, _ in bar.chords]
    if bar_split(meter, len(names)) == lengths:
        return " ".join(names)
    for count in (len(meter.groups), meter.upper, 2 * meter.upper):
        words = _on_grid(names, lengths, iter(bar_split(meter, count) or ()))
        if words:
            return " ".join(words)
    raise ValueError(f"chords that change so cannot be written in a chart: {lengths}")


def _on_grid(names: list[str], lengths: tuple[Fraction, ...], grid: Iterator[Fraction]) -> list[str]:
    """One word a grid step, holds as dots; nothing when a chord does not fill whole steps."""
    words: list[str] = []
    for name, length in zip(names, lengths, strict=True):
        words.append(name)
        filled = next(grid, length + 1)
        while filled < length:
            words.append(".")
            filled += next(grid, length + 1)
        if filled != length:
            return []
    return words

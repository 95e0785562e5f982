"""Charts as text, read and written.

    [A]                           a section's name, before its first bar
    | Em7 | A7 | % | N.C. |       a bar a chord; % is the bar before again; N.C. is no chord
    | F#m7b5 B7 |                 chords that share a bar share it evenly
    | Em7 . . A7 |                one word a beat; a dot (or /) holds the chord
    |: Am7 | D7 :| x3             play what stands between the repeat signs three times (twice without a number)

A line end also ends a bar. A bar may hold one word; as many words as the meter has felt groups, or a number that
divides them (two in 4/4, 6/8 and 12/8); or one word a counted unit. Repeats are unfolded into bars, and a
section's name stays on its first bar. The signs are common practice on hand-written charts (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import NO_CHORD, ChordSymbolError, parse_optional_chord
from phrasewright.theory.meter import Meter

MAX_BARS = 256  # a chorus longer than this is a slip of the pen (x99)
MAX_TIMES = 32
MAX_LABEL = 40  # characters of a section's name
BARS_A_LINE = 4
_HOLDS = {".", "/"}
_TOKEN = re.compile(
    r"(?P<section>\[[^\]\n|]*\]?)"
    r"|(?P<close>:\|+)"
    r"|(?P<open>\|*:)"
    r"|(?P<line>\|+)"
    r"|(?P<end>\n)"
    r"|(?P<word>(?:(?!:\||[\s|\[\]]).)+)"
    r"|(?P<stray>\])"
)
_TIMES = re.compile(r"[xX×](\d+)|(\d+)[xX×]")

Span = tuple[Chord | None, Fraction]


@dataclass(frozen=True, slots=True)
class ChartProblem:
    """One thing wrong in a chart; offset: 0-based character of the text."""

    what: str
    hint: str
    offset: int


class ChartError(ValueError):
    """A chart that cannot be read, with every problem found."""

    def __init__(self, problems: tuple[ChartProblem, ...]) -> None:
        super().__init__("; ".join(problem.what for problem in problems))
        self.problems = problems


def read_chart(text: str, meter: Meter) -> Chart:
    """Read a chart in a meter, repeats unfolded. Raises ChartError with all problems."""
    reader = _Reader(meter)
    for match in _TOKEN.finditer(text):
        reader.take(str(match.lastgroup), match[0], match.start())
    reader.finish(len(text))
    if reader.problems:
        raise ChartError(tuple(sorted(reader.problems, key=lambda problem: problem.offset)))
    return Chart(meter=meter, bars=tuple(reader.bars))


def write_chart(chart: Chart) -> str:
    """The chart as text, four bars a line; ``read_chart`` gives it back. Raises ValueError for chords off the beat."""
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


def bar_split(meter: Meter, words: int) -> tuple[Fraction, ...] | None:
    """Lengths in quarter notes of so many words in a bar; None when the bar cannot be shared so."""
    groups = meter.groups
    if words == len(groups):
        return groups
    if words and len(groups) % words == 0:
        share = len(groups) // words
        return tuple(sum(groups[n : n + share], Fraction(0)) for n in range(0, len(groups), share))
    if words == 1:
        return (meter.bar,)
    return (meter.unit,) * words if words == meter.upper else None


def sentence(hint: str) -> str:
    """A hint as a sentence: a capital letter and a full stop."""
    hint = hint.strip()
    return hint if not hint else hint[0].upper() + hint[1:] + ("" if hint[-1] in ".?!" else ".")


@dataclass(slots=True)
class _Reader:
    """Takes the tokens of a chart one after another."""

    meter: Meter
    bars: list[ChartBar] = field(default_factory=list)
    problems: list[ChartProblem] = field(default_factory=list)
    words: list[tuple[str, int]] = field(default_factory=list)
    section: str = ""
    repeat_from: int = 0
    open_repeat: int | None = None  # offset of a repeat sign still open
    barred: bool = False  # a bar line stands just before
    repeated: tuple[int, int] | None = None  # bars of the repeat that was just closed, while a number may follow

    def problem(self, offset: int, what: str, hint: str) -> None:
        self.problems.append(ChartProblem(what, hint, offset))

    def take(self, kind: str, word: str, offset: int) -> None:
        if kind == "word" and self.repeated and _TIMES.fullmatch(word):
            self.take_times(word, offset)
            return
        if kind != "end":
            self.repeated = None
        getattr(self, f"take_{kind}")(word, offset)

    def take_section(self, word: str, offset: int) -> None:
        self.end_bar()
        label = word.strip("[]").strip()
        if not word.endswith("]"):
            self.problem(offset, "this section name has no closing bracket", "Write it as [A] or [Verse].")
        elif not label:
            self.problem(offset, "this section has no name", "Write a name between the brackets, for instance [A].")
        elif len(label) > MAX_LABEL:
            self.problem(offset, "this section name is too long to print", f"Keep it within {MAX_LABEL} characters.")
        self.section = " ".join(label.split())

    def take_stray(self, _word: str, offset: int) -> None:
        self.problem(offset, "there is a closing bracket ] without an opening one", "Write section names as [A].")

    def take_line(self, _word: str, offset: int) -> None:
        if self.barred and not self.words:
            self.empty_bar(offset)
        self.end_bar()
        self.barred = True

    def empty_bar(self, offset: int) -> None:
        self.problem(offset, "this bar is empty", "Write % to repeat the bar before, or N.C. for a bar without chord.")

    def take_end(self, _word: str, _offset: int) -> None:
        self.end_bar()
        self.barred = False

    def take_open(self, word: str, offset: int) -> None:
        self.end_bar()
        if self.open_repeat is not None:
            self.problem(offset, "a repeat begins inside another repeat", "Close the first one with :| before it.")
        self.open_repeat, self.repeat_from = offset, len(self.bars)
        self.barred = word.startswith("|")

    def take_close(self, _word: str, offset: int) -> None:
        self.end_bar()
        if self.repeat_from == len(self.bars) and not self.problems:
            self.problem(offset, "there is no bar to repeat here", "Write the bars between |: and :|.")
        self.repeated = (self.repeat_from, len(self.bars))
        self.repeat(2, offset)
        self.open_repeat, self.repeat_from = None, len(self.bars)
        self.barred = False

    def take_times(self, word: str, offset: int) -> None:
        times = int("".join(letter for letter in word if letter.isdecimal())[:9])
        if not 2 <= times <= MAX_TIMES:
            what = f"a repeat is played 2 to {MAX_TIMES} times, not {times}"
            self.problem(offset, what, "Write how often the bars sound in all, for instance x3.")
        elif self.repeated:
            del self.bars[self.repeated[1] :]
            self.repeat(times, offset)
        self.repeated, self.repeat_from = None, len(self.bars)

    def repeat(self, times: int, offset: int) -> None:
        first, last = self.repeated or (0, 0)
        again = [replace(bar, section="") for bar in self.bars[first:last]]
        if len(self.bars) + len(again) * (times - 1) > MAX_BARS:
            self.too_long(offset)
            return
        self.bars.extend(again * (times - 1))

    def too_long(self, offset: int) -> None:
        what = f"the chart is longer than {MAX_BARS} bars"
        self.problem(offset, what, "Write one chorus; band.choruses says how often it is played.")

    def take_word(self, word: str, offset: int) -> None:
        self.words.append((word, offset))

    def end_bar(self) -> None:
        if not self.words:
            return
        words, self.words = self.words, []
        chords = self.bar_again(words) if any(word == "%" for word, _ in words) else self.bar_chords(words)
        self.bars.append(ChartBar(chords=chords, section=self.section))
        self.section, self.repeated = "", None
        if len(self.bars) == MAX_BARS + 1:
            self.too_long(words[0][1])

    def bar_again(self, words: list[tuple[str, int]]) -> tuple[Span, ...]:
        offset = next(offset for word, offset in words if word == "%")
        if len(words) > 1:
            self.problem(offset, "% repeats a whole bar and stands alone in its bar", "Write the chords out instead.")
        elif not self.bars:
            self.problem(offset, "% stands in the first bar: there is no bar before it", "Write the first chord.")
        else:
            return self.bars[-1].chords
        return ((None, self.meter.bar),)

    def bar_chords(self, words: list[tuple[str, int]]) -> tuple[Span, ...]:
        lengths = bar_split(self.meter, len(words))
        if lengths is None:
            self.problem(words[0][1], f"a bar of {self.meter} cannot hold {len(words)} words", self.shares())
        spans: list[Span] = []
        for (word, offset), length in zip(words, lengths or [self.meter.bar] * len(words), strict=True):
            if word not in _HOLDS:
                spans.append((self.chord(word, offset), length))
            elif spans:
                spans[-1] = (spans[-1][0], spans[-1][1] + length)
            else:
                what = f"a bar cannot begin with {word!r}, which holds the chord before it in the same bar"
                self.problem(offset, what, "Begin the bar with a chord, or write % to repeat the bar before.")
                spans.append((None, length))
        return tuple(spans)

    def shares(self) -> str:
        counts = sorted(n for n in range(1, self.meter.upper + 1) if bar_split(self.meter, n))
        last = f"{', '.join(map(str, counts[:-1]))} or {counts[-1]}" if len(counts) > 1 else str(counts[0])
        beats = " ".join(["A", *["."] * (self.meter.upper - 2), "B"]) if self.meter.upper > 1 else "A"
        return f"Write {last} words; a dot holds a chord one more beat, for instance | {beats} |."

    def chord(self, word: str, offset: int) -> Chord | None:
        if _TIMES.fullmatch(word):
            what = f"{word} says how often a repeat is played, but no repeat ends here"
            self.problem(offset, what, "Write it right after the closing sign: |: Am7 | D7 :| x3.")
            return None
        try:
            return parse_optional_chord(word)
        except ChordSymbolError as error:
            self.problem(offset + error.column, str(error), sentence(error.hint))
            return None

    def finish(self, end: int) -> None:
        self.end_bar()
        if self.open_repeat is not None:
            self.problem(self.open_repeat, "this repeat is never closed", "Write :| after its last bar.")
        if self.section and self.bars:
            self.problem(end, f"the section {self.section} has no bars", "Write its bars after its name.")
        if not self.bars and not self.problems:
            self.problem(0, "the chart has no bars", "Write chords between bar lines, for instance | Em7 | A7 |.")


def _bar_words(bar: ChartBar, meter: Meter) -> str:
    lengths = tuple(length for _, length in bar.chords)
    names = [NO_CHORD if chord is None else chord.symbol for chord, _ in bar.chords]
    if bar_split(meter, len(names)) == lengths:
        return " ".join(names)
    for grid in (meter.groups, (meter.unit,) * meter.upper):
        words = _on_grid(names, lengths, iter(grid))
        if words:
            return " ".join(words)
    raise ValueError(f"chords that change off the beat cannot be written in a chart: {lengths}")


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

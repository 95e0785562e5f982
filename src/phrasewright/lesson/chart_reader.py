"""Reading the text of a chart, sign by sign; see ``chart_text`` for what the signs mean."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from phrasewright.lesson.chart_directions import CODA, Directions, in_order, leaving_once, split_coda
from phrasewright.lesson.chart_repeats import ChartProblem, PlayedBars
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import NO_CHORD, ChordSymbolError, parse_optional_chord
from phrasewright.theory.meter import Meter

MAX_LABEL = 40  # characters of a section's name
STOP = "!"
_HOLDS = {".", "/"}
_TOKEN = re.compile(
    r"(?P<order>(?im:^[ \t]*order[ \t]*:[^\n|]*$))"
    r"|(?P<pickup>\((?:[^()\n|]|\([^()\n|]*\))*\)?)"
    r"|(?P<section>\[[^\]\n|]*\]?)"
    r"|(?P<close>:\|+)"
    r"|(?P<open>\|*:)"
    r"|(?P<line>\|+)"
    r"|(?P<end>\n)"
    r"|(?P<word>(?:(?!:\||[\s|\[\]]).)+)"
    r"|(?P<stray>\])"
)
_TIMES = re.compile(r"[xX×](\d+)|(\d+)[xX×]", re.ASCII)
_ENDING = re.compile(r"(?:\d{1,2}\.)+", re.ASCII)

Span = tuple[Chord | None, Fraction]


class ChartError(ValueError):
    """A chart that cannot be read, with every problem found."""

    def __init__(self, problems: tuple[ChartProblem, ...]) -> None:
        super().__init__("; ".join(problem.what for problem in problems))
        self.problems = problems


class ChartReader:
    """Takes the tokens of a chart one after another."""

    def __init__(self, meter: Meter) -> None:
        self.problems: list[ChartProblem] = []
        self.played = PlayedBars(self.problems)
        self.directions = Directions(meter, self._problem)
        self.words: list[tuple[str, int]] = []
        self.section = ""
        self.barred = False  # a bar line stands just before
        self.pickup: ChartBar | None = None
        self.order: tuple[str, int] | None = None  # the line and its offset
        self.coda_at = 0

    @property
    def meter(self) -> Meter:
        """The meter that holds here."""
        return self.directions.meter

    def read(self, text: str) -> Chart:
        """The chart, repeats and order played out. Raises ChartError with all problems."""
        for match in _TOKEN.finditer(text):
            self._take(str(match.lastgroup), match[0], match.start())
        self._finish(len(text))
        bars, coda = split_coda(self.played.bars, self.directions, self._problem, self.coda_at)
        if self.order is not None:
            bars = in_order(bars, *self.order, self._problem)
        home = self.directions.home
        if bars and not self.problems and all(bar.meter is not None for bar in bars):
            self._problem(0, f"no bar of the chart is in {home}", f'Write meter = "{bars[0].meter}" above the chart.')
        if self.problems:
            raise ChartError(tuple(sorted(self.problems, key=lambda problem: problem.offset)))
        return Chart(meter=home, bars=leaving_once(bars), pickup=self.pickup, coda=coda)

    def _problem(self, offset: int, what: str, hint: str) -> None:
        """Note a problem at a character of the text."""
        self.problems.append(ChartProblem(what, hint, offset))

    def _take(self, kind: str, word: str, offset: int) -> None:
        """One token of a kind of the grammar."""
        if kind == "word" and self.played.closed and _TIMES.fullmatch(word):
            self._take_times(word, offset)
            return
        if kind != "end":
            self.played.closed = None
        getattr(self, f"_take_{kind}")(word, offset)

    def _take_order(self, word: str, offset: int) -> None:
        self._end_bar()
        if self.order is not None:
            self._problem(offset, "there are two lines of order", "Keep the one that is meant.")
        self.order = (word, offset)

    def _take_pickup(self, word: str, offset: int) -> None:
        if self.words or self.played.bars or self.pickup is not None:
            hint = "A pick-up stands before the first bar; a chord's own brackets follow it without a space: C7(b9)."
            self._problem(offset, f"{word} stands inside the chart", hint)
            self.words.append((NO_CHORD, offset))
        elif not word.endswith(")"):
            self._problem(offset, "this pick-up has no closing bracket", "Write it as (D7) before the first bar.")
        else:
            self._pickup([(found[0], offset + 1 + found.start()) for found in re.finditer(r"\S+", word[1:-1])], offset)

    def _pickup(self, words: list[tuple[str, int]], offset: int) -> None:
        """A short bar of so many counted beats."""
        meter = self.directions.home
        if not 0 < len(words) < meter.upper:
            what = f"a pick-up to {meter} has 1 to {meter.upper - 1} beats, not {len(words)}"
            self._problem(offset, what, "Write a word for each beat that is played; a dot holds a chord: (D7 .).")
            return
        chords, stops = self._spans(words, [meter.unit] * len(words))
        short = Meter(len(words), meter.lower)
        self.pickup = ChartBar(chords=chords, stops=stops, meter=short)

    def _take_section(self, word: str, offset: int) -> None:
        self._end_bar()
        self.played.leave_endings()
        label = word.strip("[]").strip()
        if not word.endswith("]"):
            self._problem(offset, "this section name has no closing bracket", "Write it as [A] or [Verse].")
        elif not label:
            self._problem(offset, "this section has no name", "Write a name between the brackets, for instance [A].")
        elif len(label) > MAX_LABEL:
            self._problem(offset, "this section name is too long to print", f"Keep it within {MAX_LABEL} characters.")
        self.section = " ".join(label.split())
        if self.section.casefold() == CODA:
            self.coda_at = offset

    def _take_stray(self, _word: str, offset: int) -> None:
        self._problem(offset, "there is a closing bracket ] without an opening one", "Write section names as [A].")

    def _take_line(self, _word: str, offset: int) -> None:
        if self.barred and not self.words:
            self._empty_bar(offset)
        self._end_bar()
        self.barred = True

    def _empty_bar(self, offset: int) -> None:
        self._problem(offset, "this bar is empty", "Write % to repeat the bar before, or N.C. for a bar without chord.")

    def _take_end(self, _word: str, _offset: int) -> None:
        self._end_bar()
        self.barred = False

    def _take_open(self, word: str, offset: int) -> None:
        self._end_bar()
        self.played.open(offset)
        self.barred = word.startswith("|")

    def _take_close(self, _word: str, offset: int) -> None:
        self._end_bar()
        self.played.close(offset)
        self.barred = False

    def _take_times(self, word: str, offset: int) -> None:
        self.played.play(int("".join(letter for letter in word if letter.isdecimal())[:9]), offset)

    def _take_word(self, word: str, offset: int) -> None:
        if Directions.knows(word):
            self.played.expect_no_ending()
            self.directions.take(word, offset, inside=bool(self.words))
            return
        if not _ENDING.fullmatch(word):
            self.played.expect_no_ending()
            self.words.append((word, offset))
            return
        if self.words:
            self._problem(offset, f"the ending {word} begins inside a bar", "Write it right after a bar line.")
            self._end_bar()
        self.played.begin_ending([int(number) for number in word.split(".")[:-1]], offset)

    def _end_bar(self) -> None:
        if not self.words:
            return
        words, self.words = self.words, []
        again = any(word == "%" for word, _ in words)
        chords, stops = self._bar_again(words) if again else self._bar_chords(words)
        bar = self.directions.on(ChartBar(chords=chords, section=self.section, stops=stops))
        self.played.add(bar, words[0][1])
        self.section, self.played.closed = "", None

    def _bar_again(self, words: list[tuple[str, int]]) -> tuple[tuple[Span, ...], frozenset[int]]:
        offset = next(offset for word, offset in words if word == "%")
        before = self.played.bars[-1] if self.played.bars else None
        if len(words) > 1:
            self._problem(offset, "% repeats a whole bar and stands alone in its bar", "Write the chords out instead.")
        elif before is None:
            self._problem(offset, "% stands in the first bar: there is no bar before it", "Write the first chord.")
        elif before.length != self.meter.bar:
            what = f"the bar before is longer or shorter than {self.meter}, so % cannot repeat it"
            self._problem(offset, what, "Write the chords out instead.")
        else:
            return before.chords, before.stops
        return ((None, self.meter.bar),), frozenset()

    def _bar_chords(self, words: list[tuple[str, int]]) -> tuple[tuple[Span, ...], frozenset[int]]:
        lengths = bar_split(self.meter, len(words))
        if lengths is None:
            self._problem(words[0][1], f"a bar of {self.meter} cannot hold {len(words)} words", self._shares())
        return self._spans(words, lengths or [self.meter.bar] * len(words))

    def _spans(
        self, words: list[tuple[str, int]], lengths: Sequence[Fraction]
    ) -> tuple[tuple[Span, ...], frozenset[int]]:
        """Chords with their lengths, one word a length, and which of them are stops."""
        spans: list[Span] = []
        stops: set[int] = set()
        for (word, offset), length in zip(words, lengths, strict=True):
            if word not in _HOLDS:
                if word.endswith(STOP):
                    stops.add(len(spans))
                spans.append((self._chord(word.removesuffix(STOP), offset), length))
                if spans[-1][0] is None and word.endswith(STOP) and not self.problems:
                    self._problem(offset, f"{word} stops nothing", "A stop belongs to a chord: Em7!")
            elif spans:
                spans[-1] = (spans[-1][0], spans[-1][1] + length)
            else:
                what = f"a bar cannot begin with {word!r}, which holds the chord before it in the same bar"
                self._problem(offset, what, "Begin the bar with a chord, or write % to repeat the bar before.")
                spans.append((None, length))
        return tuple(spans), frozenset(stops)

    def _shares(self) -> str:
        counts = [n for n in range(1, self.meter.upper + 1) if bar_split(self.meter, n)]
        words = f"{', '.join(map(str, counts[:-1]))} or {counts[-1]} words"
        if bar_split(self.meter, 2 * self.meter.upper):
            words += f", or {2 * self.meter.upper} of half a beat each"
        beats = " ".join(["A", *["."] * (self.meter.upper - 2), "B"])
        return f"Write {words}; a dot holds a chord one more beat, for instance | {beats} |."

    def _chord(self, word: str, offset: int) -> Chord | None:
        if _TIMES.fullmatch(word):
            what = f"{word} says how often a repeat is played, but no repeat ends here"
            self._problem(offset, what, "Write it right after the closing sign: |: Am7 | D7 :| x3.")
            return None
        try:
            return parse_optional_chord(word)
        except ChordSymbolError as error:
            self._problem(offset + error.column, str(error), sentence(error.hint))
            return None

    def _finish(self, end: int) -> None:
        self._end_bar()
        self.played.finish()
        self.directions.finish()
        if self.section and self.played.bars:
            self._problem(end, f"the section {self.section} has no bars", "Write its bars after its name.")
        if not self.played.bars and not self.problems:
            self._problem(0, "the chart has no bars", "Write chords between bar lines, for instance | Em7 | A7 |.")


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
    if words == 2 * meter.upper and meter.unit == 1:
        return (meter.unit / 2,) * words
    return (meter.unit,) * words if words == meter.upper else None


def sentence(hint: str) -> str:
    """A hint as a sentence: a capital letter and a full stop."""
    hint = hint.strip()
    return hint if not hint else hint[0].upper() + hint[1:] + ("" if hint[-1] in ".?!" else ".")

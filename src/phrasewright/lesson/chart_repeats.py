"""The bars of a chart as they are played, while its repeat signs and endings are read.

    |: A | B :|                   A B A B; with x3 behind it three times
    |: A | 1. B :| 2. C |         A B A C: the bars up to the first ending, each time with another ending
    |: A | 1.2. B :| 3. C |       A B A B A C

Every ending but the last is closed by a repeat sign; the last one simply goes on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from phrasewright.score.chart import ChartBar

MAX_BARS = 256  # a chorus longer than this is a slip of the pen (x99)
MAX_TIMES = 32
_EXAMPLE = "|: Am7 | 1. D7 :| 2. G |"


@dataclass(frozen=True, slots=True)
class ChartProblem:
    """One thing wrong in a chart; offset: 0-based character of the text."""

    what: str
    hint: str
    offset: int


@dataclass(slots=True)
class _Endings:
    """The endings of one repeat. body: bars before them, as first and past the last; offset: of the sign read last."""

    body: tuple[int, int]
    offset: int
    start: int  # first bar of the ending being read
    times: int  # how often that ending is played
    last: int  # number of the last round that has an ending
    written: int = 1
    is_open: bool = True  # its closing sign is still to come
    doubted: bool = False  # its first mark was wrong already


@dataclass(slots=True)
class PlayedBars:
    """Bars in the order in which they sound, and what is wrong with their repeats."""

    problems: list[ChartProblem]
    bars: list[ChartBar] = field(default_factory=list)
    first: int = 0  # bar at which a closing sign would begin again
    opened: int | None = None  # offset of an opening sign that is not closed yet
    closed: tuple[int, int] | None = None  # bars of the repeat just closed, while a number may follow
    endings: _Endings | None = None

    def add(self, bar: ChartBar, offset: int) -> None:
        """A bar that follows."""
        self.bars.append(bar)
        if len(self.bars) == MAX_BARS + 1:
            self._too_long(offset)

    def open(self, offset: int) -> None:
        """An opening sign."""
        self.leave_endings()
        if self.opened is not None:
            self._problem(offset, "a repeat begins inside another repeat", "Close the first one with :| before it.")
        self.opened, self.first = offset, len(self.bars)

    def close(self, offset: int) -> None:
        """A closing sign: of an ending, or of a whole repeat, which is played twice until a number says otherwise."""
        if self.endings and self.endings.is_open:
            self._close_ending(self.endings, offset)
        else:
            self.leave_endings()
            if self.first == len(self.bars) and not self.problems:
                self._problem(offset, "there is no bar to repeat here", "Write the bars between |: and :|.")
            self.closed = (self.first, len(self.bars))
            self._again(self.bars[self.first :], offset)
        self.opened, self.first = None, len(self.bars)

    def play(self, times: int, offset: int) -> None:
        """A number behind a closing sign."""
        first, last = self.closed or (len(self.bars), len(self.bars))
        if not 2 <= times <= MAX_TIMES:
            what = f"a repeat is played 2 to {MAX_TIMES} times, not {times}"
            self._problem(offset, what, "Write how often the bars sound in all, for instance x3.")
        else:
            del self.bars[last:]
            self._again(self.bars[first:last] * (times - 1), offset)
        self.closed, self.first = None, len(self.bars)

    def begin_ending(self, numbers: Sequence[int], offset: int) -> None:
        """The mark of an ending, with the rounds it is played in."""
        if self.endings and self.endings.is_open:
            self._problem(offset, "an ending begins inside another ending", "Close the one before with :|.")
            self._close_ending(self.endings, offset)
        before = self.endings
        due = before.last + 1 if before else 1
        misnumbered = list(numbers) != list(range(due, due + len(numbers)))
        if misnumbered and (before or not self.problems):
            what = f"the ending that should stand here is {due}."
            self._problem(offset, what, f"Number the endings one after another: {_EXAMPLE}.")
        last = due + len(numbers) - 1
        if before:
            self._again(self.bars[slice(*before.body)], offset)
            before.start, before.times, before.last = len(self.bars), len(numbers), last
            before.written, before.is_open, before.offset = before.written + 1, True, offset
            return
        empty = self.first == len(self.bars)
        if empty and not self.problems:
            hint = f"Write the bars that are played every time before it: {_EXAMPLE}."
            self._problem(offset, "there are no bars before this ending", hint)
        body = (self.first, len(self.bars))
        doubted = misnumbered or empty
        self.endings = _Endings(body, offset, len(self.bars), times=len(numbers), last=last, doubted=doubted)

    def expect_no_ending(self) -> None:
        """Something else than an ending follows: after a closed first ending that is wrong."""
        if self.endings and not self.endings.is_open:
            self.leave_endings()

    def leave_endings(self) -> None:
        """The endings are over: a section, a repeat or the end follows."""
        endings, self.endings = self.endings, None
        if endings is None:
            return
        if endings.written == 1 and not endings.doubted:
            what = "this ending is never closed" if endings.is_open else f"ending {endings.last + 1}. is missing"
            hint = "Write :| after its last bar, and the next ending" if endings.is_open else "Write it after :|"
            self._problem(endings.offset, what, f"{hint}: {_EXAMPLE}.")
        self.opened, self.first = None, len(self.bars)

    def finish(self) -> None:
        """No more bars follow."""
        self.leave_endings()
        if self.opened is not None:
            self._problem(self.opened, "this repeat is never closed", "Write :| after its last bar.")

    def _close_ending(self, endings: _Endings, offset: int) -> None:
        if endings.start == len(self.bars):
            self._problem(offset, "this ending has no bars", f"Write its bars after its number: {_EXAMPLE}.")
        round_again = [*self.bars[slice(*endings.body)], *self.bars[endings.start :]]
        self._again(round_again * (endings.times - 1), offset)
        endings.is_open, endings.offset = False, offset

    def _again(self, bars: Sequence[ChartBar], offset: int) -> None:
        """Bars that sound again; their section names are not said again."""
        if len(self.bars) + len(bars) > MAX_BARS:
            self._too_long(offset)
        else:
            self.bars.extend(replace(bar, section="") for bar in bars)

    def _too_long(self, offset: int) -> None:
        what = f"the chart is longer than {MAX_BARS} bars"
        self._problem(offset, what, "Write one chorus; band.choruses says how often it is played.")

    def _problem(self, offset: int, what: str, hint: str) -> None:
        self.problems.append(ChartProblem(what, hint, offset))

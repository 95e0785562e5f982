"""A chart as one recording plays it: which bars follow each other, in which beats they are tapped, at what pace.

Without a number of choruses the chorus goes round for as long as there is music. With one, everything is played once:
pick-up, choruses, coda. Places are counted in tapped beats from the first beat of bar 1; the pick-up lies below 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from phrasewright.score.chart import Chart
from phrasewright.score.model import Measure
from phrasewright.score.pace import pace_of
from phrasewright.theory.meter import Meter

_VALUES = {Fraction(1, 2): "eighth", Fraction(1): "quarter", Fraction(3, 2): "dotted quarter"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedChart:
    """choruses: how many the recording has, None = the chorus goes round, without pick-up and coda."""

    chart: Chart
    choruses: int | None = None

    @property
    def pulse(self) -> Fraction:
        """The beat that is tapped, in quarter notes."""
        return self.chart.meter.pulse

    @property
    def other_beat(self) -> Meter | None:
        """The first meter whose beat is another one than the chart's; None where one beat goes through all bars."""
        if self.pickup % self.pulse:
            return self.once[0].meter
        meters = (bar.meter for bar in self.once if bar.number > 0)
        return next((meter for meter in meters if meter.pulse != self.pulse), None)

    @property
    def why_not_tapped(self) -> str:
        """Why nobody can tap one beat through it, in words; empty where somebody can."""
        home, other = self.chart.meter, self.other_beat
        if other is None:
            return ""
        if self.pickup % self.pulse:
            return f"the pick-up is not as long as whole beats of {home}, so no tap falls on its start"
        change = f"the chart goes from {home}, tapped in {_value(home)}s, to {other}, in {_value(other)}s"
        return f"taps keep one beat, and {change}"

    @property
    def once(self) -> tuple[Measure, ...]:
        """The bars until they begin again, or until the end."""
        return self.chart.unfold(len(self.chart.bars)) if self.choruses is None else self.chart.whole(self.choruses)

    @property
    def pickup(self) -> Fraction:
        """Quarter notes of the pick-up that is played, 0 without one."""
        written = self.chart.pickup
        return Fraction(0) if self.choruses is None or written is None else written.length

    def measures(self, bars: int) -> tuple[Measure, ...]:
        """The bars up to number ``bars``, and no more than are played. The first begins at onset 0."""
        if self.choruses is None:
            return self.chart.unfold(bars)
        return tuple(measure for measure in self.once if measure.number <= bars)

    def paces(self, places: Sequence[int]) -> tuple[float, ...]:
        """How long each beat lasts against one at the chart's tempo, by the tempo marks; 1 outside the chart."""
        once = self.once
        pace, pulse, length = pace_of(once), self.pulse, once[-1].end
        found = []
        for place in places:
            at = place * pulse + self.pickup
            if self.choruses is None:
                at %= length
            inside = 0 <= at < length
            found.append((pace.played(float(at + pulse)) - pace.played(float(at))) / float(pulse) if inside else 1.0)
        return tuple(found)

    @property
    def _in_choruses(self) -> int | None:
        """How many bars come before the coda, None where the chorus goes round."""
        return None if self.choruses is None else self.chart.bars_in(self.choruses)

    @property
    def choruses_end(self) -> Fraction | None:
        """Where the choruses are over and the coda begins, in quarter notes from bar 1; None where they go round."""
        bars = self._in_choruses
        return None if bars is None else self.chart.onset(bars)

    def chart_bar(self, number: int) -> int | None:
        """The bar of the written chart, the coda counted on after the chorus, that a bar is; None before bar 1."""
        bars = self._in_choruses
        if number < 1:
            return 0 if number == 0 and self.pickup else None
        if bars is not None and number > bars:
            return len(self.chart.bars) + number - bars
        return (number - 1) % len(self.chart.bars) + 1

    @property
    def is_steady(self) -> bool:
        """Whether it has no tempo marks."""
        return all(measure.pace == 1 and not measure.slows for measure in self.once)


def _value(meter: Meter) -> str:
    """The note that is tapped in a meter."""
    return f"{_VALUES.get(meter.pulse, str(meter.pulse * 4) + '/16')} note"

"""How the bars of a recording follow each other: how many tapped beats each one has.

Places are counted in beats from the first beat of bar 1. A pick-up is bar 0; what lies before it, or before bar 1, are
bars of the layout's own meter: 0, -1, ... without a pick-up, -1, -2, ... with one.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import accumulate

from phrasewright.score.played_chart import PlayedChart
from phrasewright.theory.meter import Meter


def beats_in_bar(meter: Meter) -> int:
    """Tapped beats of a bar."""
    return int(meter.bar / meter.pulse)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarLayout:
    """meter: of every bar that is not listed; bars: beats of each from bar 1, none = all alike; pickup: beats of bar 0,
    0 without one; ends: the last bar is the end, otherwise the first one follows it again.
    """

    meter: Meter
    bars: tuple[int, ...] = ()
    pickup: int = 0
    ends: bool = False

    def __post_init__(self) -> None:
        if self.pickup < 0 or any(beats < 1 for beats in self.bars):
            raise ValueError("a bar has one beat at least")
        if self.ends and not self.bars:
            raise ValueError("a layout that ends lists its bars")

    @property
    def last_bar(self) -> int | None:
        """Number of the last bar, None where they go round."""
        return len(self.bars) if self.ends else None

    @property
    def end(self) -> int | None:
        """The place after the last beat, None where the bars go round."""
        return sum(self.bars) if self.ends else None

    @property
    def _usual(self) -> int:
        return beats_in_bar(self.meter)

    @property
    def _round(self) -> tuple[int, ...]:
        return self.bars or (self._usual,)

    def beats_of(self, bar: int) -> int:
        """Beats of a bar."""
        if bar < 1:
            return self.pickup if bar == 0 and self.pickup else self._usual
        if self.ends and bar > len(self.bars):
            return self._usual
        return self._round[(bar - 1) % len(self._round)]

    def place(self, bar: int, beat: int) -> int:
        """The place of a beat, counted from 1, in a bar."""
        return self._start(bar) + beat - 1

    def _start(self, bar: int) -> int:
        if bar < 1:
            return (bar - 1) * self._usual if not self.pickup else bar * self._usual - self.pickup
        if self.ends and bar > len(self.bars):
            return sum(self.bars) + (bar - 1 - len(self.bars)) * self._usual
        turns, within = divmod(bar - 1, len(self._round))
        return turns * sum(self._round) + sum(self._round[:within])

    def at(self, place: int) -> tuple[int, int]:
        """(bar, beat) of a place, the beat from 1."""
        if place < 0:
            if not self.pickup:
                bar, beat = divmod(place, self._usual)
                return bar + 1, beat + 1
            if place >= -self.pickup:
                return 0, place + self.pickup + 1
            bar, beat = divmod(place + self.pickup, self._usual)
            return bar, beat + 1
        length = sum(self._round)
        turns, within = divmod(place, length)
        if self.ends and turns:
            bar, beat = divmod(place - length, self._usual)
            return len(self.bars) + bar + 1, beat + 1
        starts = list(accumulate(self._round, initial=0))
        index = bisect_right(starts, within) - 1
        return turns * len(self._round) + index + 1, within - starts[index] + 1


def layout_of(played: PlayedChart) -> BarLayout:
    """The layout of a chart as it is played. Raises ValueError where another beat would have to be tapped."""
    if played.other_beat is not None:
        raise ValueError(f"bars of {played.other_beat} have another beat than bars of {played.chart.meter}")
    lengths = tuple(int(measure.meter.bar / played.pulse) for measure in played.once if measure.number > 0)
    meter, ends = played.chart.meter, played.choruses is not None
    alike = not ends and set(lengths) == {beats_in_bar(meter)}
    return BarLayout(meter=meter, bars=() if alike else lengths, pickup=int(played.pickup / played.pulse), ends=ends)

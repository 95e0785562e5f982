"""Where the bars and beats of a recording lie, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from phrasewright.listen.bar_layout import BarLayout

UNSURE = 0.6  # a bar below this is worth a look


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """A beat. bar: from 1, those before the first bar 0, -1 ...; beat: in its bar, from 1; confidence: 0..1.

    is_pinned: somebody said that it lies there.
    """

    bar: int
    beat: int
    time_s: float
    confidence: float
    is_pinned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedBar:
    """A whole bar. start_s, end_s: its bar lines; confidence: that of its beats, on average."""

    number: int
    start_s: float
    end_s: float
    confidence: float

    @property
    def is_unsure(self) -> bool:
        """Whether somebody should look at it."""
        return self.confidence < UNSURE


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatMap:
    """Beats of a recording in order, without gaps. recording: the name of its file; length_s: of the recording;
    layout: how many beats its bars have.
    """

    recording: str
    length_s: float
    layout: BarLayout
    beats: tuple[Beat, ...]

    def __post_init__(self) -> None:
        if len(self.beats) < 2:
            raise ValueError("a beat map needs two beats at least")
        for before, after in zip(self.beats, self.beats[1:], strict=False):
            if after.time_s <= before.time_s:
                raise ValueError(f"bar {after.bar}, beat {after.beat} does not come after the beat before it")
            if self.place(after) != self.place(before) + 1:
                raise ValueError(f"bar {after.bar}, beat {after.beat} does not follow bar {before.bar}, {before.beat}")

    def place(self, beat: Beat) -> int:
        """How many beats it comes after the first beat of bar 1; before it below 0."""
        return self.layout.place(beat.bar, beat.beat)

    @property
    def times_s(self) -> tuple[float, ...]:
        """Times of all beats."""
        return tuple(beat.time_s for beat in self.beats)

    @property
    def bars(self) -> tuple[MappedBar, ...]:
        """Whole bars in order, also those before bar 1 and a pick-up."""
        starts = [index for index, beat in enumerate(self.beats) if beat.beat == 1]
        found = []
        for first, after in zip(starts, [*starts[1:], len(self.beats)], strict=True):
            if after - first == self.layout.beats_of(self.beats[first].bar):
                inside = self.beats[first:after]
                end_s = self.beats[after].time_s if after < len(self.beats) else self._end_s(after)
                sure = float(np.mean([beat.confidence for beat in inside]))
                found.append(
                    MappedBar(
                        number=inside[0].bar, start_s=inside[0].time_s, end_s=min(end_s, self.length_s), confidence=sure
                    )
                )
        return tuple(found)

    def _end_s(self, after: int) -> float:
        return 2 * self.beats[after - 1].time_s - self.beats[after - 2].time_s

    @property
    def tempo_bpm(self) -> float:
        """Beats a minute from bar 1 on: the middle of all beats."""
        times = [beat.time_s for beat in self.beats if self.place(beat) >= 0]
        return 60.0 / float(np.median(np.diff(times if len(times) > 1 else self.times_s)))

    @property
    def knots(self) -> tuple[tuple[Fraction, float], ...]:
        """Each beat as (written quarter notes from bar 1, seconds in the recording), from the pick-up or bar 1 on."""
        pulse = self.layout.meter.pulse
        places = ((self.place(beat), beat.time_s) for beat in self.beats)
        return tuple((place * pulse, time_s) for place, time_s in places if place >= -self.layout.pickup)

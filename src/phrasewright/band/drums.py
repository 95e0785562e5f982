"""The drums: beats, fills, a crash where a section begins, a last stroke, and the count-in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache

from phrasewright.band.form import BarPlan, FillSize
from phrasewright.band.groove_model import DrumBeat, Fill, Groove, Plan
from phrasewright.band.intensity import louder, rung, without
from phrasewright.band.steps import read_steps, stroke_count
from phrasewright.band.stops import with_stops
from phrasewright.score.model import Drum, DrumPart, Hit
from phrasewright.score.performance import Performance
from phrasewright.theory.meter import Meter

LOUDNESS = {"X": 0.9, "x": 0.72, "o": 0.45, "f": 0.3}
QUIETER = {  # pieces that keep time under the music, as a share of the others (by ear)
    Drum.CLOSED_HAT: 0.75,
    Drum.RIDE: 0.8,
    Drum.SHAKER: 0.7,
    Drum.PEDAL_HAT: 0.75,
    Drum.GHOST: 0.7,
    Drum.RIDE_BELL: 0.8,
    Drum.OPEN_HAT: 0.8,
}
TIMEKEEPERS = (Drum.CLOSED_HAT, Drum.RIDE, Drum.SHAKER)
SILENCED_BY: Mapping[Drum, tuple[Drum, ...]] = {
    Drum.OPEN_HAT: (Drum.CLOSED_HAT, Drum.PEDAL_HAT, Drum.OPEN_HAT)
}  # an open hi-hat rings until the same pair of cymbals is struck or closed again (common practice)
LEAST_GAP_S = 0.12  # one hand on the hat plays sixteenths up to about 125 bpm (common practice)
WEIGHT = {Drum.RIDE: 1.3, Drum.RIDE_BELL: 1.5, Drum.OPEN_HAT: 2.0, Drum.GHOST: 0.7, Drum.SHAKER: 0.8}
GHOSTS_FROM = 0.3  # intensity below which ghost notes rest and full fills are smaller
FULLER_FROM = 0.7  # intensity from which slight fills are fuller
FIRST_CLICK, GROUP_CLICK, CLICK = 1.0, 0.8, 0.6


def drum_part(bars: Sequence[BarPlan], groove: Groove) -> DrumPart:
    """Every stroke of the planned bars, by onset."""
    stopped = groove.crash is not None  # drums that mark no form go through stops as well
    hits = [
        hit
        for bar in bars
        for hit in (with_stops(_bar_hits(bar, groove), bar.measure) if stopped else _bar_hits(bar, groove))
    ]
    return DrumPart(name="Drums", hits=tuple(sorted(hits, key=lambda hit: (hit.onset, hit.drum))))


def thinned(kit: DrumPart, performance: Performance) -> DrumPart:
    """The drums as a tempo lets one hand play them: timekeepers leave out soft strokes that come too fast.

    A stroke on hat, ride or shaker goes when it follows a louder one on the same piece within ``LEAST_GAP_S``, so fast
    sixteenths become eighths and no accent is lost. Everything else stays.
    """
    kept: list[Hit] = []
    last: dict[Drum, Hit] = {}
    for hit in kit.hits:
        before = last.get(hit.drum)
        if before is not None and hit.drum in TIMEKEEPERS and hit.velocity < before.velocity:
            gap_s = performance.seconds_at(hit.onset) - performance.seconds_at(before.onset)
            if gap_s < LEAST_GAP_S - 1e-9:
                continue
        last[hit.drum] = hit
        kept.append(hit)
    return replace(kit, hits=tuple(kept))


def count_in(meter: Meter, bars: int = 1) -> tuple[Hit, ...]:
    """Clicks before the music, from 0: the bar's first loudest, the first of a group (3+2 in 5/4) next.

    They fall on the tapped beats: dotted quarters in 6/8 and 12/8, eighths in 7/8.
    """
    groups = frozenset(meter.group_starts)
    beats = meter.group_starts if meter.is_compound else tuple(n * meter.unit for n in range(meter.upper))
    uneven = len(set(meter.groups)) > 1
    return tuple(
        Hit(
            onset=bar * meter.bar + beat,
            drum=Drum.CLICK,
            velocity=FIRST_CLICK if beat == 0 else GROUP_CLICK if uneven and beat in groups else CLICK,
        )
        for bar in range(bars)
        for beat in beats
    )


def _bar_hits(bar: BarPlan, groove: Groove) -> Iterator[Hit]:
    plan = groove.plan(bar.measure.meter)
    if not plan.beats:
        return
    if bar.final and groove.crash is not None:
        yield from _last_strokes(bar)
        return
    if bar.pickup:
        for lead_in in plan.fills[-1:]:
            yield from _play(lead_in.beat, bar, lead_in.start, bar.measure.meter.bar)
        return
    fill = fill_of(plan, bar)
    end_of_beat = bar.measure.meter.bar if fill is None else fill.start
    crash = groove.crash if bar.fresh else None
    for hit in _play(beat_of(plan, bar), bar, Fraction(0), end_of_beat):
        if crash is None or hit.onset > bar.measure.onset or hit.drum not in (*TIMEKEEPERS, crash):
            yield hit
    if crash is not None:
        yield Hit(onset=bar.measure.onset, drum=crash, velocity=louder(0.8, bar.intensity))
    if fill is not None:
        yield from _play(fill.beat, bar, fill.start, bar.measure.meter.bar)


def beat_of(plan: Plan, bar: BarPlan) -> DrumBeat:
    """The beat that fits the bar's part: the plainest where the form is calm, the busiest where it is not.

    A calm bar leaves out its ghost notes, unless they are so many that they carry the beat.
    """
    beat = rung(without(sorted(plan.beats, key=busyness), bar.spared), bar.level)
    if bar.intensity >= GHOSTS_FROM:
        return beat
    meter = bar.measure.meter
    lanes = tuple(
        (drum, line) for drum, line in beat.lanes if drum is not Drum.GHOST or stroke_count(line) > meter.upper
    )
    return DrumBeat(lanes=lanes)


def fill_of(plan: Plan, bar: BarPlan) -> Fill | None:
    """The fill that closes the bar.

    Of three or more a calm bar takes a middle one for the full, an intense bar one for the slight.
    """
    if bar.fill is FillSize.NONE or not plan.fills:
        return None
    last = len(plan.fills) - 1
    if bar.fill is FillSize.SLIGHT:
        return plan.fills[last // 2 if bar.intensity >= FULLER_FROM else 0]
    return plan.fills[last if bar.intensity >= GHOSTS_FROM else (last + 1) // 2]


@cache
def busyness(beat: DrumBeat) -> float:
    """How much goes on in a beat: its strokes as they are heard, ride and open hat weighing more than a closed one."""
    return sum(LOUDNESS[sign] * WEIGHT.get(drum, 1.0) for drum, line in beat.lanes for sign in line if sign in LOUDNESS)


def _play(beat: DrumBeat, bar: BarPlan, start: Fraction, end: Fraction) -> Iterator[Hit]:
    """Strokes of a beat between two places of the bar."""
    for drum, pattern in beat.lanes:
        for step in read_steps(pattern, bar.measure.meter):
            if start <= step.onset < end:
                velocity = LOUDNESS[step.sign] * QUIETER.get(drum, 1.0)
                yield Hit(onset=bar.measure.onset + step.onset, drum=drum, velocity=louder(velocity, bar.intensity))


def _last_strokes(bar: BarPlan) -> Iterator[Hit]:
    """A crash and kick on the last bar's first beat; a kick with each later chord."""
    yield Hit(onset=bar.measure.onset, drum=Drum.CRASH, velocity=0.75)
    yield Hit(onset=bar.measure.onset, drum=Drum.KICK, velocity=0.75)
    for span in bar.measure.chords[1:]:
        yield Hit(onset=span.onset, drum=Drum.KICK, velocity=0.65)

"""A groove in meters it was not written for: a bar of another length inside a tune.

Patterns are cut off, or begin again, where such a bar ends; fills keep to its end. Common practice: the band goes on
playing its groove and the bar is simply shorter or longer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import cycle, islice
from types import MappingProxyType

from phrasewright.band.groove_model import DrumBeat, Fill, Groove, Plan
from phrasewright.band.steps import BAR_LINE, HOLD, REST, bars_of, signs_of
from phrasewright.score.model import Measure
from phrasewright.theory.meter import Meter


def refitted(groove: Groove, measures: Sequence[Measure]) -> Groove:
    """The groove with a plan for every meter of the bars. Raises GrooveError when it fits none of them."""
    meters = dict.fromkeys(measure.meter for measure in measures)
    missing = [meter for meter in meters if meter not in groove.plans]
    if not missing:
        return groove
    home = _home(groove, measures)
    plan = groove.plan(home)
    plans: Mapping[Meter, Plan] = {meter: _plan(plan, home, meter) for meter in missing}
    return replace(groove, plans=MappingProxyType({**groove.plans, **plans}))


def _home(groove: Groove, measures: Sequence[Measure]) -> Meter:
    """The meter that most bars have, among those the groove is written for; the first bars' where it has none."""
    fitting = [measure.meter for measure in measures if measure.meter in groove.plans]
    return max(fitting, key=fitting.count, default=measures[-1].meter)


def _plan(plan: Plan, home: Meter, meter: Meter) -> Plan:
    return Plan(
        beats=tuple(_beat(beat, home, meter) for beat in plan.beats),
        fills=tuple(_fill(fill, home, meter) for fill in plan.fills),
        bass=tuple(_riff(pattern, home, meter) for pattern in plan.bass),
        chords=tuple(begun(pattern, home, meter, HOLD) for pattern in plan.chords),
    )


def _beat(beat: DrumBeat, home: Meter, meter: Meter) -> DrumBeat:
    return DrumBeat(lanes=tuple((drum, begun(pattern, home, meter, REST)) for drum, pattern in beat.lanes))


def _riff(pattern: str, home: Meter, meter: Meter) -> str:
    """A bass pattern with each of its bars in the other meter."""
    return BAR_LINE.join(begun(bar, home, meter, HOLD) for bar in bars_of(pattern))


def _fill(fill: Fill, home: Meter, meter: Meter) -> Fill:
    """A fill as far from the end of the bar as it was."""
    lanes = tuple((drum, ended(pattern, home, meter, REST)) for drum, pattern in fill.beat.lanes)
    start = max(meter.bar - (home.bar - fill.start), Fraction(0))
    return Fill(start=start, beat=DrumBeat(lanes=lanes))


def begun(pattern: str, home: Meter, meter: Meter, between: str) -> str:
    """A pattern of one meter from its beginning, over a bar of another. between: what a step goes on as, - or dots."""
    signs, length = _stretched(pattern, home, meter, between)
    return "".join(islice(cycle(signs), length))


def ended(pattern: str, home: Meter, meter: Meter, between: str) -> str:
    """A pattern of one meter up to its end, over a bar of another."""
    signs, length = _stretched(pattern, home, meter, between)
    cut = "".join(islice(cycle(reversed(signs)), length))[::-1]
    held = len(cut) - len(cut.lstrip(HOLD))
    return REST * held + cut[held:]  # nothing sounds before it any more


def _stretched(pattern: str, home: Meter, meter: Meter, between: str) -> tuple[str, int]:
    """The pattern in steps that fill the other bar, and how many of them do."""
    signs = signs_of(pattern)
    steps = meter.bar / (home.bar / len(signs))
    fine = steps.denominator
    return "".join(sign + (REST if sign == REST else between) * (fine - 1) for sign in signs), int(steps * fine)

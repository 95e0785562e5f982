"""When the bass plays and in which role: the groove's patterns laid over the chords of the chart.

A new chord always begins on its root or slash bass. What else a style asks for is decided here, before any pitch is
chosen: whether a bar may begin on another tone, which figure a riff keeps, which note a pedal holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from phrasewright.band.form import BarPlan, part_ranges
from phrasewright.band.groove_model import BassStyle, Groove
from phrasewright.band.intensity import window
from phrasewright.band.steps import bars_of, read_steps, stroke_count
from phrasewright.band.stops import length_of
from phrasewright.score.model import ChordSpan, Measure
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.pitch import NoteName

NEAR_CHANGES = 4  # chords this many changes away still say which key it is
HEIGHTS = {"R": 0, "2": 1, "3": 2, "4": 3, "5": 4, "6": 5, "7": 6, "8": 7}  # steps over the root, for a riff's shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A place where the bass plays. target: the root it leads to; around: pitch classes of the chords near it.

    height: in a riff, steps over the chord's first note that the figure has here, below 0 under it; else None.
    """

    onset: Fraction
    duration: Fraction
    role: str
    chord: Chord
    target: NoteName | None = None
    around: frozenset[int] = frozenset()
    height: int | None = None


def bass_slots(bars: Sequence[BarPlan], groove: Groove) -> tuple[Slot, ...]:
    """When the bass plays and in which role, roots put on every new chord and approaches where a chord follows."""
    if groove.bass_style is BassStyle.PEDAL:
        bars = _held_bars(bars)
    patterns = _riff_patterns(bars, groove) if groove.bass_style is BassStyle.RIFF else _patterns(bars, groove)
    slots: list[Slot] = []
    for bar, pattern in zip(bars, patterns, strict=True):
        if pattern:
            written = _bar_slots(bar, "R" if bar.final or bar.pickup else pattern)
            slots += _in_style(written, slots, bar, groove.bass_style)
    slots = _with_surroundings(slots)
    if bars and bars[-1].final:
        return tuple(_with_targets(slots, None, groove))
    return tuple(_with_targets(slots, slots[0] if slots else None, groove))


def bass_note_of(chord: Chord) -> NoteName:
    """The note the bass plays on a chord's first beat."""
    return chord.root if chord.bass is None else chord.bass


def _patterns(bars: Sequence[BarPlan], groove: Groove) -> list[str]:
    """Each bar's pattern: few strokes where the form is calm, more where it is not; empty where the bass rests."""
    found: list[str] = []
    for bar in bars:
        ranked = sorted(groove.plan(bar.measure.meter).bass, key=stroke_count)
        choices = window(ranked, bar.intensity)
        found.append(choices[bar.bass % len(choices)] if choices else "")
    return found


def _riff_patterns(bars: Sequence[BarPlan], groove: Groove) -> list[str]:
    """Each bar's part of the figure, which begins anew with a new chord.

    Parts of the same name, and all without one, keep the same figure throughout.
    """
    names: dict[str, int] = {}
    found = ["R" for bar in bars if bar.pickup]
    for start, end in part_ranges(bars):
        which = names.setdefault(bars[start].measure.section, bars[0].bass + len(names))
        place = 0
        for index in range(start, end):
            measure = bars[index].measure
            goes_on = index > start and measure.chords[0].chord == bars[index - 1].measure.chords[-1].chord
            place = place + 1 if goes_on else 0
            riffs = groove.plan(measure.meter).bass
            figure = bars_of(riffs[which % len(riffs)]) if riffs else ("",)
            found.append(figure[place % len(figure)])
    return found


def _held_bars(bars: Sequence[BarPlan]) -> list[BarPlan]:
    """The bars over one held note a part: the bass of its first chord; silences stay."""
    found = [bar for bar in bars if bar.pickup]
    for start, end in part_ranges(bars):
        chords = [span.chord for bar in bars[start:end] for span in bar.measure.chords if span.chord is not None]
        if not chords:
            found += bars[start:end]
            continue
        held = Chord(root=bass_note_of(chords[0]), kind=CHORD_KINDS["power"])
        found += [replace(bar, measure=_held_measure(bar.measure, held)) for bar in bars[start:end]]
    return found


def _held_measure(measure: Measure, held: Chord) -> Measure:
    spans: list[ChordSpan] = []
    for span in measure.chords:
        chord = None if span.chord is None else held
        if spans and spans[-1].chord == chord and not (spans[-1].stop or span.stop):
            spans[-1] = replace(spans[-1], duration=spans[-1].duration + span.duration)
        else:
            spans.append(replace(span, chord=chord))
    return replace(measure, chords=tuple(spans))


def _in_style(slots: Iterator[Slot], before: Sequence[Slot], bar: BarPlan, style: BassStyle) -> Iterator[Slot]:
    """The bar's slots with what the style does where a chord begins or goes on, and a riff's heights."""
    starts = {span.onset: span for span in bar.measure.chords}
    previous = before[-1] if before else None
    bar_slots = list(slots)
    for place, slot in enumerate(bar_slots):
        if slot.onset in starts:
            goes_on = previous is not None and slot.chord == previous.chord
            goes_on = goes_on and not bar.final and not starts[slot.onset].stop
            role = _first_role(slot, previous, style) if goes_on and previous is not None else _new_role(slot, style)
            slot = replace(slot, role=role)
        if style is BassStyle.RIFF:
            following = bar_slots[place + 1].role if place + 1 < len(bar_slots) else "R"
            slot = replace(slot, height=_height(slot.role, previous, following))
        previous = slot
        yield slot


def _first_role(slot: Slot, previous: Slot, style: BassStyle) -> str:
    """What a bar begins on whose chord goes on sounding."""
    match style:
        case BassStyle.WALKING:
            return "c"
        case BassStyle.FIFTHS:
            return "5" if previous.role in ("R", "8") else "R"
        case BassStyle.RIFF:
            return slot.role
        case _:
            return "R"


def _new_role(slot: Slot, style: BassStyle) -> str:
    """What a new chord begins on: its root, by a riff perhaps the one above."""
    return "8" if style is BassStyle.RIFF and slot.role == "8" else "R"


def _height(role: str, previous: Slot | None, following: str) -> int | None:
    """Where a riff's figure lies: over its root, but a seventh between two roots under them."""
    if role == "g":
        return None if previous is None else previous.height
    if role == "7" and following == "R" and previous is not None and previous.role == "R":
        return -1
    return HEIGHTS.get("5" if role == "A" else role)


def _with_surroundings(slots: Sequence[Slot]) -> list[Slot]:
    """Each slot with the pitch classes of the chords up to four changes away."""
    stretches = [(chord, list(group)) for chord, group in groupby(slots, key=lambda slot: slot.chord)]
    found: list[Slot] = []
    for place, (_, group) in enumerate(stretches):
        near = stretches[max(0, place - NEAR_CHANGES) : place + NEAR_CHANGES + 1]
        around = frozenset(pitch_class for chord, _ in near for pitch_class in chord.pitch_classes)
        found += [replace(slot, around=around) for slot in group]
    return found


def _bar_slots(bar: BarPlan, pattern: str) -> Iterator[Slot]:
    """The pattern's strokes, cut and completed so that every chord has one at its start."""
    steps = [(bar.measure.onset + step.onset, step) for step in read_steps(pattern, bar.measure.meter)]
    for span in bar.measure.chords:
        if span.chord is None:
            continue
        if span.stop:
            yield Slot(onset=span.onset, duration=length_of(span, span.duration), role="R", chord=span.chord)
            continue
        end = span.onset + span.duration
        inside = [(onset, step) for onset, step in steps if span.onset <= onset < end]
        if not inside or inside[0][0] > span.onset:
            until = inside[0][0] if inside else end
            yield Slot(onset=span.onset, duration=until - span.onset, role="R", chord=span.chord)
        for onset, step in inside:
            yield Slot(onset=onset, duration=min(step.duration, end - onset), role=step.sign, chord=span.chord)


def _with_targets(slots: Sequence[Slot], loop_to: Slot | None, groove: Groove) -> Iterator[Slot]:
    """Approaches only before a new root; the last walked note before one always approaches it."""
    following = [*slots[1:], loop_to] if slots else []
    for slot, after in zip(slots, following, strict=True):
        changes = after is not None and after.role in ("R", "8") and after.chord != slot.chord
        walks = groove.bass_style is BassStyle.WALKING
        role = slot.role
        if role == "A" and not changes:
            role = "w" if walks else "5"
        elif role in ("w", "g") and changes and walks:
            role = "A"
        target = bass_note_of(after.chord) if changes and after is not None else None
        height = None if role == "A" else slot.height
        yield replace(slot, role=role, target=target, height=height)

"""Bass lines.

A groove's pattern says when the bass plays and in which role (root, fifth, approach ...); a first dynamic programme
chooses the note names, a second one their octaves. Names are chosen by intervals alone, so a chart moved to another
key keeps its line; octaves stay within a four-string bass's first frets. A chord's first note is its root or slash
bass; an approach lies a half or whole step from the root it leads to, or a fifth above it (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import inf
from random import Random

from phrasewright.band.form import BarPlan
from phrasewright.band.groove_model import BassStyle, Groove
from phrasewright.band.steps import read_steps
from phrasewright.band.stops import length_of
from phrasewright.band.tones import passing_tones, spell_near, spelled, tone_numbered
from phrasewright.score.model import Note
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Interval
from phrasewright.theory.pitch import NoteName, Pitch

LOWEST_MIDI, HIGHEST_MIDI = 28, 55  # E1 to G3
HOME_MIDI = 37  # about C#2: where a line likes to lie
NEAR_CHANGES = 4  # chords this many changes away still say which key it is
CLIMBING = frozenset({"3", "6"})  # roles that belong above the root they follow
LOUDNESS = {"g": 0.45, "A": 0.72}
USUAL_LOUDNESS = 0.78
_NOISE = 0.35  # how far chance may move a choice; a step more or less
_STEP_COST = (1.3, 0.1, 0.0, 0.3, 0.4, 0.4, 0.9)  # by interval class 0..6: steps first, tritones and repeats last
_RETURN_COST = 0.7  # going back to the note before the last


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A place where the bass plays. target: the root it leads to; around: pitch classes of the chords near it."""

    onset: Fraction
    duration: Fraction
    role: str
    chord: Chord
    target: NoteName | None = None
    around: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class _Choice:
    """A candidate name. leads: must be resolved by a step into the next note."""

    name: NoteName
    cost: float
    leads: bool = False


def bass_line(bars: Sequence[BarPlan], groove: Groove, *, rng: Random) -> tuple[Note, ...]:
    """The bass part of the planned bars; silent where no chord sounds or the groove has no bass.

    Unless the last bar is final it goes round.
    """
    slots = bass_slots(bars, groove)
    if not slots:
        return ()
    options = _options(slots, rng)
    names = _names(options, () if bars[-1].final else options[0])
    octaves = (_octaves if bars[-1].final else _octaves_round)(slots, names)
    return tuple(
        Note(
            onset=slot.onset,
            duration=slot.duration,
            pitch=Pitch.from_midi(pitch_midi, choice.name),
            velocity=LOUDNESS.get(slot.role, USUAL_LOUDNESS),
        )
        for slot, choice, pitch_midi in zip(slots, names, octaves, strict=True)
    )


def bass_slots(bars: Sequence[BarPlan], groove: Groove) -> tuple[Slot, ...]:
    """When the bass plays and in which role, roots put on every new chord and approaches where a chord follows."""
    slots: list[Slot] = []
    previous: Chord | None = None
    for bar in bars:
        patterns = groove.plan(bar.measure.meter).bass
        if not patterns:
            continue
        pattern = "R" if bar.final or bar.pickup else patterns[bar.bass % len(patterns)]
        for slot in _bar_slots(bar, pattern):
            starts_span = any(span.onset == slot.onset for span in bar.measure.chords)
            if starts_span and slot.chord == previous and groove.bass_style is BassStyle.WALKING and not bar.final:
                slot = replace(slot, role="c")
            elif starts_span:
                slot = replace(slot, role="R")
            slots.append(slot)
            previous = slot.chord
    slots = _with_surroundings(slots)
    if bars and bars[-1].final:
        return tuple(_with_targets(slots, None, groove))
    return tuple(_with_targets(slots, slots[0] if slots else None, groove))


def bass_note_of(chord: Chord) -> NoteName:
    """The note the bass plays on a chord's first beat."""
    return chord.root if chord.bass is None else chord.bass


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
            role = step.sign if onset > span.onset else "R"
            yield Slot(onset=onset, duration=min(step.duration, end - onset), role=role, chord=span.chord)


def _with_targets(slots: Sequence[Slot], loop_to: Slot | None, groove: Groove) -> Iterator[Slot]:
    """Approaches only before a new root; the last walked note before one always approaches it."""
    following = [*slots[1:], loop_to] if slots else []
    for slot, after in zip(slots, following, strict=True):
        changes = after is not None and after.role == "R" and after.chord != slot.chord
        walks = groove.bass_style is BassStyle.WALKING
        role = slot.role
        if role == "A" and not changes:
            role = "w" if walks else "5"
        elif role in ("w", "g") and changes and walks:
            role = "A"
        target = bass_note_of(after.chord) if changes and after is not None else None
        yield replace(slot, role=role, target=target)


def _candidates(slot: Slot) -> list[_Choice]:
    """Names a slot may play, cheapest first in each group; the order never depends on the key."""
    chord, bass = slot.chord, bass_note_of(slot.chord)
    if slot.role in ("R", "8"):
        return [_Choice(bass, 0.0)]
    if slot.role == "A" and slot.target is not None:
        return _approaches(slot)
    if slot.role in ("3", "5", "6", "7"):
        name = bass if chord.bass is not None else tone_numbered(chord, int(slot.role), slot.around)
        return [_Choice(name, 0.0)]
    weights = {1: 0.3, 3: 0.0, 5: 0.0, 7: 0.2}
    tones = [_Choice(spelled(degree, chord.root), weights.get(degree.number, 0.5)) for degree in chord.degrees]
    if slot.role == "c":
        return tones if chord.bass is None else [_Choice(bass, 0.0)]
    sounding = {choice.name.pitch_class for choice in tones}
    passing = [name for name in passing_tones(chord, slot.around) if name.pitch_class not in sounding]
    return tones + [_Choice(name, 0.45) for name in passing]


def _approaches(slot: Slot) -> list[_Choice]:
    """Half steps from both sides, whole steps that belong to the chord's scale, and the fifth above."""
    target = bass_note_of(slot.chord) if slot.target is None else slot.target
    home = {name.pitch_class for name in passing_tones(slot.chord, slot.around)} | set(slot.chord.pitch_classes)
    ways = ((-1, -1, 0.1), (1, 1, 0.2), (-1, -2, 0.3), (1, 2, 0.35))
    choices = [
        _Choice(spell_near(target, Interval(steps, semitones)), cost, leads=True)
        for steps, semitones, cost in ways
        if abs(semitones) == 1 or (target.pitch_class + semitones) % 12 in home
    ]
    return [*choices, _Choice(spell_near(target, Interval(4, 7)), 0.5)]


def _options(slots: Sequence[Slot], rng: Random) -> list[list[_Choice]]:
    """The names each slot may play, with the taste of the day; none for a repeat of the note before."""
    options: list[list[_Choice]] = []
    for slot in slots:
        if slot.role == "g" and options:
            options.append([])
            continue
        options.append([replace(c, cost=c.cost + _NOISE * rng.random()) for c in _candidates(slot)])
    return options


def _names(options: Sequence[Sequence[_Choice]], after: Sequence[_Choice]) -> list[_Choice]:
    """The cheapest chain of names; its cost looks two notes back, so that a line moves on.

    after: what may be heard after the last note, when the line goes round.
    """
    chain = iter(_cheapest([choices for choices in options if choices], after))
    chosen: list[_Choice] = []
    for choices in options:
        chosen.append(next(chain) if choices else chosen[-1])
    return chosen


def _cheapest(options: Sequence[Sequence[_Choice]], after: Sequence[_Choice]) -> list[_Choice]:
    """Viterbi over pairs of neighbouring choices; -1 stands for no note before the first."""
    costs = {(-1, index): choice.cost for index, choice in enumerate(options[0])}
    trail: list[dict[tuple[int, int], int]] = []
    for place in range(1, len(options)):
        two_back = options[place - 2] if place > 1 else ()
        costs, back = _extend(costs, two_back, options[place - 1], options[place])
        trail.append(back)
    if after:
        home = [min(_move(choice, one) for one in after) for choice in options[-1]]
        costs = {pair: cost + home[pair[1]] for pair, cost in costs.items()}
    first, second = min(costs, key=lambda pair: costs[pair])
    indexes = [second]
    for back in reversed(trail):
        first, second = back[first, second], first
        indexes.append(second)
    return [choices[index] for choices, index in zip(options, reversed(indexes), strict=True)]


def _extend(
    costs: dict[tuple[int, int], float],
    two_back: Sequence[_Choice],
    now: Sequence[_Choice],
    after: Sequence[_Choice],
) -> tuple[dict[tuple[int, int], float], dict[tuple[int, int], int]]:
    """One note further: the cost of each pair (now, after), and which note before ``now`` it comes from."""
    longer: dict[tuple[int, int], float] = {}
    back: dict[tuple[int, int], int] = {}
    for (first, second), cost in costs.items():
        for third, choice in enumerate(after):
            total = cost + choice.cost + _move(now[second], choice)
            if first >= 0 and two_back[first].name.pitch_class == choice.name.pitch_class:
                total += _RETURN_COST
            if total < longer.get((second, third), inf):
                longer[second, third], back[second, third] = total, first
    return longer, back


def _move(first: _Choice, second: _Choice) -> float:
    distance = (second.name.pitch_class - first.name.pitch_class) % 12
    return _STEP_COST[min(distance, 12 - distance)]


def _octaves(slots: Sequence[Slot], names: Sequence[_Choice]) -> list[int]:
    """MIDI pitches in range: small moves, resolved approaches, octave roles an octave up, near home."""
    costs, trail = _climb(slots, names, _pitches(names[0]))
    return _descended(trail, min(costs, key=lambda pitch: (costs[pitch], pitch)))


def _octaves_round(slots: Sequence[Slot], names: Sequence[_Choice]) -> list[int]:
    """The same for a line that goes round: the way from its last note to its first counts like every other."""
    found: list[tuple[float, list[int]]] = []
    for first in _pitches(names[0]):
        costs, trail = _climb(slots, names, (first,))
        closed = {pitch: cost + _leap(pitch, first, slots[0], names[-1]) for pitch, cost in costs.items()}
        last = min(closed, key=lambda pitch: (closed[pitch], pitch))
        found.append((closed[last], _descended(trail, last)))
    return min(found)[1]


def _pitches(choice: _Choice) -> range:
    return range(LOWEST_MIDI + (choice.name.pitch_class - LOWEST_MIDI) % 12, HIGHEST_MIDI + 1, 12)


def _climb(
    slots: Sequence[Slot], names: Sequence[_Choice], starts: Sequence[int]
) -> tuple[dict[int, float], list[dict[int, int]]]:
    """Least cost of each pitch of the last note, and for every later note the best pitch before each of its own."""
    costs = {pitch: _lie(pitch) for pitch in starts}
    trail: list[dict[int, int]] = []
    for index in range(1, len(slots)):
        step: dict[int, float] = {}
        back: dict[int, int] = {}
        for pitch in _pitches(names[index]):
            before = min(costs, key=lambda low: (costs[low] + _leap(low, pitch, slots[index], names[index - 1]), low))
            step[pitch] = costs[before] + _leap(before, pitch, slots[index], names[index - 1]) + _lie(pitch)
            back[pitch] = before
        costs = step
        trail.append(back)
    return costs, trail


def _descended(trail: Sequence[dict[int, int]], last: int) -> list[int]:
    pitches = [last]
    for back in reversed(trail):
        pitches.append(back[pitches[-1]])
    return pitches[::-1]


def _lie(pitch_midi: int) -> float:
    return abs(pitch_midi - HOME_MIDI) / 12.0


def _leap(low: int, high: int, slot: Slot, before: _Choice) -> float:
    size = abs(high - low)
    if slot.role == "8" and high - low == 12:
        return 0.0
    falls = 0.9 if slot.role in CLIMBING and high < low else 0.0
    unresolved = 50.0 if before.leads and size > 2 else 0.0
    return unresolved + falls + size / 6.0 + (4.0 if size > 9 else 0.0)

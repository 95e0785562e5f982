"""Bass lines.

A groove's pattern says when the bass plays and in which role (root, fifth, approach ...): ``bass_slots``. A first
dynamic programme chooses the note names, here; a second one their octaves, strings and frets: ``bass_neck``. Names are
chosen by intervals alone, so a chart moved to another key keeps its line. An approach lies a half or whole step from
the root it leads to, or a fifth above it (common practice).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from random import Random

from phrasewright.band.bass_neck import Link, laid_out
from phrasewright.band.bass_slots import Slot, bass_note_of, bass_slots
from phrasewright.band.form import BarPlan
from phrasewright.band.groove_model import Groove
from phrasewright.band.intensity import louder
from phrasewright.band.tones import passing_tones, spell_near, spelled, tone_numbered
from phrasewright.score.model import Note
from phrasewright.theory.interval import Interval
from phrasewright.theory.pitch import NoteName, Pitch

CLIMBING = frozenset({"3", "6"})  # roles that belong above the root they follow
LOUDNESS = {"g": 0.45, "A": 0.72}
USUAL_LOUDNESS = 0.78
_NOISE = 0.35  # how far chance may move a choice; a step more or less
_STEP_COST = (1.3, 0.1, 0.0, 0.3, 0.4, 0.4, 0.9)  # by interval class 0..6: steps first, tritones and repeats last
_RETURN_COST = 0.7  # going back to the note before the last


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
    stops = laid_out(_links(slots, names), goes_round=not bars[-1].final)
    intensities = _intensities(bars, slots)
    return tuple(
        Note(
            onset=slot.onset,
            duration=slot.duration,
            pitch=Pitch.from_midi(stop.pitch_midi, choice.name),
            velocity=louder(LOUDNESS.get(slot.role, USUAL_LOUDNESS), intensity),
            place=stop.place,
            finger=stop.finger,
        )
        for slot, choice, stop, intensity in zip(slots, names, stops, intensities, strict=True)
    )


def _intensities(bars: Sequence[BarPlan], slots: Sequence[Slot]) -> list[float]:
    """The intensity of the bar that each slot lies in."""
    ends = [bar.measure.end for bar in bars]
    return [bars[bisect_right(ends, slot.onset)].intensity for slot in slots]


def _links(slots: Sequence[Slot], names: Sequence[_Choice]) -> list[Link]:
    """What each note asks of the hand: how it follows the one before, the first following the last."""
    links: list[Link] = []
    for place, (slot, choice) in enumerate(zip(slots, names, strict=True)):
        before, its_name = slots[place - 1], names[place - 1]
        same = place > 0 and before.chord == slot.chord and None not in (before.height, slot.height)
        leap = _height_semitones(slot, choice) - _height_semitones(before, its_name) if same else None
        links.append(
            Link(
                pitch_class=choice.name.pitch_class,
                wait=slot.onset - before.onset if place else before.duration,
                octave=slot.role == "8",
                climbs=slot.role in CLIMBING,
                resolves=its_name.leads,
                leap=leap,
            )
        )
    return links


def _height_semitones(slot: Slot, choice: _Choice) -> int:
    """How far a riff's note lies over its chord's first note."""
    height = slot.height or 0
    above = (choice.name.pitch_class - bass_note_of(slot.chord).pitch_class) % 12
    return above + 12 * (height // 7) if above or height >= 0 else 0


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
    if slot.role in ("2", "4"):
        return [_Choice(bass if chord.bass is not None else passing_tones(chord, slot.around)[int(slot.role) - 1], 0.0)]
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

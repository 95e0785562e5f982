"""Dress a composed line with the techniques a lesson allows: sparingly, and only where hands do them.

What is usual where (common practice): hammer-ons and pull-offs on quick neighbours of one string, off the beat; a slide
where the hand shifts along a string; a bend on a chord tone that is held, from a scale note a half or whole tone below
on one of the three thinnest strings, not with the index finger alone and not by the nut; vibrato on long notes and ends
of phrases; palm muting on short runs on thick strings; a dead note as an upbeat to a phrase. Where a line offers no
such spot, the nearest usual one serves. The same line, wish and seed give the same touches. Onsets, lengths and written
pitches stay as they are; only a bent note moves to the fret it is bent from, and dead notes are added in silence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from random import Random

from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import Position, PositionNote
from phrasewright.score.model import Measure, Note, PartRole, Score
from phrasewright.score.technique import DEAD, PLAIN, USUAL_ARRIVAL, Bend, Damping, Start, Technique, Touch
from phrasewright.score.touch_rules import fault, source_of

BENT_STRINGS = 3  # from the first
LEAST_BENT_FRET = 3  # past the nut or capo: nearer to it a string is too stiff
BENDS_FOR = frozenset({"guitar", "guitar-7", "guitar-8", "baritone"})  # single steel strings
MUTES_FOR = BENDS_FOR | {"bass", "bass-5"}
STEP_FRETS, SLIDE_FRETS = 4, range(2, 8)
MOST_LEGATO = 2  # notes running without a stroke
BEND_TAKES = Fraction(1, 4)  # quarter note, so that a long note is not long out of tune
GHOST_VELOCITY = 0.5


class HowOften(StrEnum):
    """How many of the fitting spots are taken."""

    SPARING = "sparing"
    USUAL = "usual"
    OFTEN = "often"


SIGNS = {
    Technique.HAMMER_ON: "H",
    Technique.PULL_OFF: "P",
    Technique.PALM_MUTE: "P.M.",
    Technique.DEAD_NOTE: "X",
    Technique.SLIDE: "a slanted line",
    Technique.BEND: "an arrow",
    Technique.VIBRATO: "a wavy line",
}
SHARES = {HowOften.SPARING: 0.2, HowOften.USUAL: 0.45, HowOften.OFTEN: 0.8}


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchWish:
    """techniques: that may be used; none = the line stays plain."""

    techniques: tuple[Technique, ...] = ()
    how_often: HowOften = HowOften.USUAL


def suited(instrument: Instrument) -> tuple[Technique, ...]:
    """The techniques that make sense on an instrument."""
    left_out = set() if instrument.id in BENDS_FOR else {Technique.BEND}
    left_out |= set() if instrument.id in MUTES_FOR else {Technique.PALM_MUTE}
    return tuple(technique for technique in Technique if technique not in left_out)


def dressed(score: Score, position: Position, wish: TouchWish, *, seed: int) -> Score:
    """The score with the techniques of a wish in its lead. position: where the lead lies."""
    lead = score.part(PartRole.LEAD)
    line = _Line(score=score, position=position, notes=list(lead.notes))
    rng = Random(f"touches {seed} {score.title}")
    share = SHARES[wish.how_often]
    wanted = [technique for technique in suited(position.instrument) if technique in wish.techniques]
    for together in _ROUNDS:
        line.take([together[technique](line) for technique in together if technique in wanted], share, rng)
    notes = line.notes
    if Technique.DEAD_NOTE in wish.techniques:
        notes = [*notes, *_ghosts(line, share, rng)]
    part = replace(lead, notes=tuple(sorted(notes, key=lambda note: note.onset)))
    words = f"{score.words} {_signs(part.notes)}".strip()
    return replace(score, parts=tuple(part if one is lead else one for one in score.parts), words=words)


def _signs(notes: Iterable[Note]) -> str:
    """A sentence that explains the signs in the tablature; empty for a plain line."""
    used = {technique for note in notes for technique in note.touch.techniques}
    signs = [f"{sign} means {technique}" for technique, sign in SIGNS.items() if technique in used]
    return f"In the tablature {', '.join(signs)}." if signs else ""


Change = Mapping[int, Note]  # index -> the note as it would be played


@dataclass(slots=True, kw_only=True)
class _Line:
    """The line as it is dressed so far."""

    score: Score
    position: Position
    notes: list[Note]
    _bars: dict[Fraction, Measure] = field(default_factory=dict)

    @property
    def instrument(self) -> Instrument:
        return self.position.instrument

    def bar(self, note: Note) -> Measure:
        """The bar in which a note begins."""
        if note.onset not in self._bars:
            self._bars[note.onset] = self.score.measure_at(note.onset)
        return self._bars[note.onset]

    def unit(self, note: Note) -> Fraction:
        """The counted unit where a note begins, in quarter notes."""
        return self.bar(note).meter.unit

    def is_on_the_beat(self, note: Note) -> bool:
        return (note.onset - self.bar(note).onset) % self.unit(note) == 0

    def is_alone(self, index: int) -> bool:
        """True when no other note sounds with it."""
        note = self.notes[index]
        others = self.notes[max(index - 1, 0) : index] + self.notes[index + 1 : index + 2]
        return note.place is not None and all(one.end <= note.onset or one.onset >= note.end for one in others)

    def rest_after(self, index: int) -> Fraction:
        """Silence after a note, in quarter notes; a note without successor is followed by its bar's rest and more."""
        following = self.notes[index + 1].onset if index + 1 < len(self.notes) else self.score.end + 1
        return following - self.notes[index].end

    def take(self, offers: Sequence[Sequence[Change]], share: float, rng: Random) -> None:
        """Take a share of each offer's spots, in turns, at least one where any can be played."""
        queues = [rng.sample(spots, len(spots)) for spots in offers]
        left = [max(1, round(share * len(spots))) for spots in offers]
        while any(queues):
            for number, queue in enumerate(queues):
                while queue and left[number]:
                    change = queue.pop()
                    if self._fits(change):
                        for index, note in change.items():
                            self.notes[index] = note
                        left[number] -= 1
                        break
                if not left[number]:
                    queue.clear()

    def _fits(self, change: Change) -> bool:
        changed = [change.get(index, note) for index, note in enumerate(self.notes)]
        free = all(_is_free(self.notes[index], note) for index, note in change.items())
        near = {index + step for index in change for step in (0, 1, 2) if index + step < len(changed)}
        return free and not any(fault(changed, i, self.instrument) or _is_too_much(changed, i) for i in near)


def _is_free(note: Note, changed: Note) -> bool:
    """A note takes one way to begin and one damping; vibrato goes with any that rings."""
    only_shaken = replace(changed.touch, vibrato=False) == replace(note.touch, vibrato=False)
    return only_shaken or note.touch == PLAIN


def _is_too_much(notes: Sequence[Note], index: int) -> bool:
    """A run of more than ``MOST_LEGATO`` notes without a stroke, bends or slides running, fingers that cross."""
    if index == 0:
        return False
    before, note = notes[index - 1], notes[index]
    unstruck = all(i >= 0 and notes[i].touch.is_legato for i in range(index - MOST_LEGATO, index + 1))
    again = before.touch.start is note.touch.start and note.touch.start in (Start.BENT, Start.SLID)
    return unstruck or again or _cross(before, note)


def _cross(before: Note, note: Note) -> bool:
    """A finger hammers in front of the one that holds, and pulls off to one behind it."""
    if note.touch.start not in (Start.HAMMERED, Start.PULLED) or not before.finger or not note.finger:
        return False
    forward = note.finger - before.finger
    return (forward if note.touch.start is Start.HAMMERED else -forward) <= 0


# --- the spots of each technique


def _bends(line: _Line) -> list[Change]:
    found: list[Change] = []
    for index, note in enumerate(line.notes):
        chord = line.score.chord_at(note.onset)
        held = note.duration >= min(line.unit(note), Fraction(1))
        if chord is None or note.pitch.midi % 12 not in chord.pitch_classes or not held or not line.is_alone(index):
            continue
        below = sorted(_bent_from(line.position, note.pitch.midi), key=lambda at: (abs(at.finger - 3), at.place))
        if below:
            bend = Bend(
                semitones=note.pitch.midi - below[0].pitch.midi, arrives=min(USUAL_ARRIVAL, BEND_TAKES / note.duration)
            )
            touch = Touch(start=Start.BENT, bend=bend)
            found.append({index: replace(note, place=below[0].place, finger=below[0].finger, touch=touch)})
    return found


def _bent_from(position: Position, pitch_midi: int) -> Iterable[PositionNote]:
    """Notes under the hand that a finger backed by another bends to a pitch."""
    for at in position.notes:
        high_enough = at.place.fret - position.instrument.capo >= LEAST_BENT_FRET
        if at.finger >= 2 and at.place.string <= BENT_STRINGS and high_enough and 1 <= pitch_midi - at.pitch.midi <= 2:
            yield at


def _slides(line: _Line) -> list[Change]:
    found: list[tuple[Change, bool]] = []
    for index, before, note in _pairs(line, SLIDE_FRETS):
        if note.place is None or before.place is None or before.place.fret == line.instrument.capo:
            continue
        if note.place.fret != line.instrument.capo:
            finger = note.finger if before.finger is None else before.finger
            change = {index: replace(note, finger=finger, touch=Touch(start=Start.SLID))}
            found.append((change, _hand(before) != _hand(note)))
    return _those_or_all(found)


def _hand(note: Note) -> int | None:
    """The fret the index finger stands at."""
    return None if note.place is None or not note.finger else note.place.fret - note.finger


def _legatos(line: _Line, start: Start, sign: int) -> list[Change]:
    found: list[tuple[Change, bool]] = []
    for index, before, note in _pairs(line, range(1, STEP_FRETS + 1)):
        if note.place is None or before.place is None or sign * (note.place.fret - before.place.fret) < 0:
            continue
        unit = line.unit(note)
        if note.duration <= unit and before.duration <= unit:
            found.append(({index: replace(note, touch=Touch(start=start))}, not line.is_on_the_beat(note)))
    return _those_or_all(found)


def _pairs(line: _Line, frets: range) -> Iterable[tuple[int, Note, Note]]:
    """(index, note before, note) of neighbours on one string, so many frets apart."""
    for index, note in enumerate(line.notes):
        source = source_of(line.notes, index)
        if source == index - 1 and source >= 0 and line.is_alone(index) and line.is_alone(source):
            before = line.notes[source]
            if note.place and before.place and abs(note.place.fret - before.place.fret) in frets:
                yield index, before, note


def _palm_mutes(line: _Line) -> list[Change]:
    """Runs of two and more short notes on the thicker half of the strings, each run as a whole."""
    runs: list[list[int]] = []
    for index, note in enumerate(line.notes):
        thick = note.place is not None and 2 * note.place.string > len(line.instrument.tuning)
        if thick and note.duration <= line.unit(note) / 2 and line.is_alone(index):
            if not runs or runs[-1][-1] != index - 1 or line.rest_after(index - 1):
                runs.append([])
            runs[-1].append(index)
    touch = Touch(damping=Damping.PALM)
    return [{i: replace(line.notes[i], touch=touch) for i in run} for run in runs if len(run) > 1]


def _vibratos(line: _Line) -> list[Change]:
    found: list[Change] = []
    for index, note in enumerate(line.notes):
        beats = note.duration / line.bar(note).meter.pulse
        ends = line.rest_after(index) >= line.unit(note) / 2
        stopped = note.place is not None and note.place.fret > line.instrument.capo
        goes_on = index + 1 < len(line.notes) and line.notes[index + 1].touch.is_legato
        if beats >= (1 if ends else 2) and stopped and not goes_on and note.touch.damping is Damping.OPEN:
            found.append({index: replace(note, touch=replace(note.touch, vibrato=True))})
    return found


def _those_or_all(found: Sequence[tuple[Change, bool]]) -> list[Change]:
    """The spots marked as usual; all where none is."""
    usual = [change for change, is_usual in found if is_usual]
    return usual or [change for change, _ in found]


_ROUNDS: tuple[dict[Technique, Callable[[_Line], list[Change]]], ...] = (  # each chooses after the one before
    {
        Technique.BEND: _bends,
        Technique.SLIDE: _slides,
        Technique.HAMMER_ON: lambda line: _legatos(line, Start.HAMMERED, 1),
        Technique.PULL_OFF: lambda line: _legatos(line, Start.PULLED, -1),
        Technique.PALM_MUTE: _palm_mutes,
    },
    {Technique.VIBRATO: _vibratos},
)


def _ghosts(line: _Line, share: float, rng: Random) -> list[Note]:
    """Dead notes half a unit before phrases that follow a rest, on the string the phrase begins on."""
    found = []
    for index, note in enumerate(line.notes):
        early = min(line.unit(note), Fraction(1)) / 2
        silent = note.onset if index == 0 else line.rest_after(index - 1)
        if silent >= 2 * early and note.place is not None and note.onset >= early and note.touch.bend is None:
            found.append(Note(
                onset=note.onset - early, duration=early, pitch=note.pitch, velocity=GHOST_VELOCITY, place=note.place,
                touch=DEAD,
            ))  # fmt: skip
    return rng.sample(found, max(1, round(share * len(found)))) if found else []

"""Everything of one style that the neck offers, before a fret or a hand's size is asked about.

A ``Candidate`` is places with fingers; it becomes a ``Position`` only when chosen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from phrasewright.neck.box import box_holds, open_hold
from phrasewright.neck.finish import finish
from phrasewright.neck.hand import HandPlace, fingers_on_string
from phrasewright.neck.hold import Hold
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import frets_by_string, scale_pitches, strings_between
from phrasewright.neck.place import Position, PositionStyle, describe, widest_grasp
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.runs import grasps, per_string_runs, string_hand
from phrasewright.theory.scale import Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A playable run. called: the frets, lowest to highest, a teacher may call it by; effort: less is easier."""

    scale: Scale
    instrument: Instrument
    style: PositionStyle
    places: tuple[StringFret, ...]
    fingers: tuple[int, ...]
    hands: Mapping[int, HandPlace]
    called: tuple[int, int]
    effort: int = 0

    @property
    def grasp(self) -> tuple[int, int]:
        """The two frets furthest apart under one grasp."""
        return widest_grasp(self.instrument, self.style, self.places, self.fingers)

    @property
    def stretch_mm(self) -> float:
        """The widest grasp in mm."""
        return self.instrument.stretch_mm(*self.grasp)

    @property
    def starts_on_root(self) -> bool:
        """Whether the lowest note is the root."""
        return self.instrument.midi_at(self.places[0]) % 12 == self.scale.root.pitch_class

    @property
    def where(self) -> str:
        """In words: ``box at fret 5``."""
        return describe(self.instrument, self.style, self.places)

    def distance(self, fret: int) -> int:
        """Frets between a wished fret and the ones it may be called by."""
        return max(0, self.called[0] - fret, fret - self.called[1])

    def position(self) -> Position:
        """The finished position."""
        return finish(self.scale, self.instrument, self.style, self.places, self.fingers)


def candidates(scale: Scale, instrument: Instrument, request: PositionRequest) -> list[Candidate]:
    """All of the requested style on the requested strings, lowest first, whatever they stretch."""
    match request.style:
        case PositionStyle.OPEN:
            return list(_opens(scale, instrument, request))
        case PositionStyle.BOX:
            return list(_boxes(scale, instrument, request))
        case PositionStyle.THREE_PER_STRING:
            return list(_runs(scale, instrument, request))
        case PositionStyle.ONE_STRING:
            return list(_paths(scale, instrument, request))


def _opens(scale: Scale, instrument: Instrument, request: PositionRequest) -> Iterator[Candidate]:
    strings = strings_between(instrument, request.lowest_string, request.highest_string)
    found = open_hold(scale, instrument, strings)
    if found is not None:
        yield _under_one_hand(scale, instrument, PositionStyle.OPEN, found)


def _boxes(scale: Scale, instrument: Instrument, request: PositionRequest) -> Iterator[Candidate]:
    strings = strings_between(instrument, request.lowest_string, request.highest_string)
    for found in box_holds(scale, instrument, strings):
        yield _under_one_hand(scale, instrument, PositionStyle.BOX, found)


def _under_one_hand(scale: Scale, instrument: Instrument, style: PositionStyle, found: Hold) -> Candidate:
    hands = {place.string: found.hand for place in found.places}
    frets = [place.fret for place in found.places]
    return Candidate(
        scale=scale,
        instrument=instrument,
        style=style,
        places=found.places,
        fingers=_fingers(found.places, hands, instrument.capo),
        hands=hands,
        called=(min(frets), max(found.places[0].fret, found.hand.index_fret)),
        effort=found.effort,
    )


def _runs(scale: Scale, instrument: Instrument, request: PositionRequest) -> Iterator[Candidate]:
    strings = strings_between(instrument, request.lowest_string, request.highest_string)
    for places in per_string_runs(scale, instrument, strings, request.notes_per_string):
        hands = {
            string: string_hand(frets, open_fret=instrument.capo) for string, frets in frets_by_string(places).items()
        }
        yield Candidate(
            scale=scale,
            instrument=instrument,
            style=PositionStyle.THREE_PER_STRING,
            places=places,
            fingers=_fingers(places, hands, instrument.capo),
            hands=hands,
            called=(places[0].fret, places[0].fret),
        )


def _fingers(places: Sequence[StringFret], hands: Mapping[int, HandPlace], open_fret: int) -> tuple[int, ...]:
    by_place = {
        StringFret(string, fret): finger
        for string, frets in frets_by_string(places).items()
        for fret, finger in zip(frets, fingers_on_string(frets, hands[string], open_fret=open_fret), strict=True)
    }
    return tuple(by_place[place] for place in places)


def _paths(scale: Scale, instrument: Instrument, request: PositionRequest) -> Iterator[Candidate]:
    string = request.string or request.highest_string or 1
    strings_between(instrument, string, string)
    open_midi = instrument.tuning[string - 1].midi
    pitches = scale_pitches(scale, open_midi + instrument.capo, open_midi + instrument.frets)
    limit_mm = request.stretch_limit_mm(instrument)
    for start, pitch in enumerate(pitches):
        frets = [later - open_midi for later in pitches[start:] if later <= pitch + 12]
        if len(frets) > len(scale.kind.degrees) // 2:
            yield _path(scale, instrument, string, frets, limit_mm)


def _path(scale: Scale, instrument: Instrument, string: int, frets: Sequence[int], limit_mm: float) -> Candidate:
    pressed = [fret for fret in frets if fret > instrument.capo]
    fingers = [0] * (len(frets) - len(pressed))
    hand = HandPlace(index_fret=instrument.capo + 1)
    for grasp in grasps(pressed, instrument, limit_mm):
        hand = string_hand(grasp, open_fret=instrument.capo)
        fingers.extend(fingers_on_string(grasp, hand, open_fret=instrument.capo))
    return Candidate(
        scale=scale,
        instrument=instrument,
        style=PositionStyle.ONE_STRING,
        places=tuple(StringFret(string, fret) for fret in frets),
        fingers=tuple(fingers),
        hands={string: hand},
        called=(frets[0], frets[0]),
    )

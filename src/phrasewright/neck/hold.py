"""One placement of the hand: which string and fret each scale tone gets.

Given the frets under the hand and those it can stretch to, every scale tone from the lowest to the highest within
reach must get one place, and the line must climb the strings in order. The cheapest such assignment is found by
dynamic programming over tones x strings; costs are small integers, compared as (effort, height).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from phrasewright.neck.hand import HandPlace
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import frets_by_string, scale_pitches
from phrasewright.theory.scale import Scale

STRETCH = 4  # one fret outside the hand's own
SKIP = 6  # passing over a string between neighbouring tones
_Cost = tuple[int, int]  # effort, then sum of frets: of two unisons the lower fret wins


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Frets a hand can press: its own from ``low`` to ``high``, stretching ``below`` and ``above`` them."""

    low: int
    high: int
    below: int = 0
    above: int = 0

    def outside(self, fret: int) -> int | None:
        """Frets outside the hand's own, 0 inside, None out of reach."""
        if not self.low - self.below <= fret <= self.high + self.above:
            return None
        return max(0, self.low - fret, fret - self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A hand and the places it plays, rising in pitch. effort: stretches and skipped strings; less is easier."""

    hand: HandPlace
    places: tuple[StringFret, ...]
    effort: int

    @property
    def lowest_fret(self) -> int:
        """The lowest fret played."""
        return min(place.fret for place in self.places)

    @property
    def grasp(self) -> int:
        """Frets between the outermost notes of one string, where that is widest."""
        return max(max(frets) - min(frets) for frets in frets_by_string(self.places).values())

    def ease(self, instrument: Instrument) -> tuple[int, int, float, int]:
        """For comparing holds, least is easiest: effort, widest grasp on one string, mm of the hand, low frets."""
        return self.effort, self.grasp, self.span_mm(instrument), sum(place.fret for place in self.places)

    def moved(self, frets: int) -> Hold:
        """The same shape so many frets further up."""
        hand = replace(self.hand, index_fret=self.hand.index_fret + frets)
        places = tuple(StringFret(place.string, place.fret + frets) for place in self.places)
        return Hold(hand=hand, places=places, effort=self.effort)

    def span_mm(self, instrument: Instrument) -> float:
        """From the lowest to the highest fret, in mm."""
        return instrument.stretch_mm(self.lowest_fret, max(place.fret for place in self.places))


def hold(scale: Scale, instrument: Instrument, strings: Sequence[int], reach: Reach, hand: HandPlace) -> Hold | None:
    """The easiest hold of every scale tone under one hand, None when a tone between the ends cannot be reached.

    strings: lowest-sounding first. The ends are the outermost scale tones on the hand's own frets.
    """
    opens = [(string, instrument.tuning[string - 1].midi) for string in strings]
    own = [pitch for _, midi in opens for pitch in scale_pitches(scale, midi + reach.low, midi + reach.high)]
    if not own:
        return None
    pitches = scale_pitches(scale, min(own), max(own))
    path = _easiest_path(pitches, opens, reach)
    if path is None:
        return None
    effort, places = path
    return Hold(hand=hand, places=places, effort=effort)


def _easiest_path(
    pitches: Sequence[int], strings: Sequence[tuple[int, int]], reach: Reach
) -> tuple[int, tuple[StringFret, ...]] | None:
    """Effort and places of the cheapest climb; strings: (number, open MIDI pitch), lowest-sounding first."""
    layers: list[dict[int, tuple[_Cost, int]]] = []  # rank of string -> (cost so far, rank before)
    for pitch in pitches:
        layer: dict[int, tuple[_Cost, int]] = {}
        for rank, (string, open_midi) in enumerate(strings):
            fret = pitch - open_midi
            outside = reach.outside(fret)
            if outside is None:
                continue
            before = _cheapest_before(layers, rank, string, strings)
            if before is not None:
                (effort, height), came_from = before
                layer[rank] = ((effort + STRETCH * outside, height + fret), came_from)
        if not layer:
            return None
        layers.append(layer)
    return _trace(pitches, strings, layers)


def _cheapest_before(
    layers: Sequence[dict[int, tuple[_Cost, int]]], rank: int, string: int, strings: Sequence[tuple[int, int]]
) -> tuple[_Cost, int] | None:
    if not layers:
        return (0, 0), -1
    arrivals = [
        ((cost[0] + SKIP * max(0, abs(strings[earlier][0] - string) - 1), cost[1]), earlier)
        for earlier, (cost, _) in layers[-1].items()
        if earlier <= rank
    ]
    return min(arrivals, default=None)


def _trace(
    pitches: Sequence[int], strings: Sequence[tuple[int, int]], layers: Sequence[dict[int, tuple[_Cost, int]]]
) -> tuple[int, tuple[StringFret, ...]]:
    rank = min(layers[-1], key=lambda rank: layers[-1][rank][0])
    effort = layers[-1][rank][0][0]
    places: list[StringFret] = []
    for pitch, layer in zip(reversed(pitches), reversed(layers), strict=True):
        string, open_midi = strings[rank]
        places.append(StringFret(string, pitch - open_midi))
        rank = layer[rank][1]
    return effort, tuple(reversed(places))

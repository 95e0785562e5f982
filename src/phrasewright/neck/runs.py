"""Runs in which the hand moves: three notes on every string, and one string from end to end.

Each string is one grasp of the hand, so a stretch is measured along one string.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from phrasewright.neck.hand import FINGERS, HandPlace
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import scale_pitches
from phrasewright.theory.scale import Scale

MOST_FRETS_MOVED = 4  # how far the hand may drift from one string to the next
_WIDEST_GRASP = 4  # frets from index to little finger along one string, beyond which the hand moves instead


def string_hand(frets: Sequence[int], *, open_fret: int) -> HandPlace:
    """Where the hand lies to press these frets of one string: the little finger at home, the index stretching."""
    low = frets[0] if frets[0] > open_fret else open_fret + 1
    return HandPlace(index_fret=max(low, frets[-1] - (FINGERS - 1)))


def per_string_runs(
    scale: Scale, instrument: Instrument, strings: Sequence[int], notes_per_string: int
) -> Iterator[tuple[StringFret, ...]]:
    """Every run with the same number of notes on each string, by its first fret, whatever it stretches in mm."""
    lowest = instrument.tuning[strings[0] - 1].midi
    top = max(instrument.tuning[string - 1].midi for string in strings) + instrument.frets
    pitches = scale_pitches(scale, lowest + instrument.capo, top)
    for start in range(len(pitches)):
        run = pitches[start : start + notes_per_string * len(strings)]
        if len(run) < notes_per_string * len(strings) or run[0] - lowest > instrument.frets:
            return
        places = tuple(
            StringFret(
                strings[index // notes_per_string],
                pitch - instrument.tuning[strings[index // notes_per_string] - 1].midi,
            )
            for index, pitch in enumerate(run)
        )
        on_neck = all(instrument.capo <= place.fret <= instrument.frets for place in places)
        firsts = [place.fret for place in places[::notes_per_string]]
        if on_neck and all(abs(b - a) <= MOST_FRETS_MOVED for a, b in pairwise(firsts)):
            yield places


def grasps(frets: Sequence[int], instrument: Instrument, max_stretch_mm: float) -> tuple[tuple[int, ...], ...]:
    """Pressed, rising frets of one string cut into as few grasps as the hand allows; of those the least stretched."""
    best: list[tuple[int, float, tuple[tuple[int, ...], ...]]] = [(0, 0.0, ())]
    for end in range(1, len(frets) + 1):
        options = []
        for start in range(max(0, end - FINGERS), end):
            grasp = tuple(frets[start:end])
            span_mm = instrument.stretch_mm(grasp[0], grasp[-1])
            if grasp[-1] - grasp[0] <= _WIDEST_GRASP and span_mm <= max_stretch_mm:
                count, stretched, before = best[start]
                options.append((count + 1, max(stretched, span_mm), (*before, grasp)))
        best.append(min(options))
    return best[-1][2]

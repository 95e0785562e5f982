"""The search inside one hand placement, against trying everything."""

from __future__ import annotations

from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st
from neck_strategies import pitches, scales

from phrasewright.neck.hand import HandPlace
from phrasewright.neck.hold import SKIP, STRETCH, Reach, hold
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.ladder import scale_pitches, strings_between
from phrasewright.theory.scale import Scale


@given(scales(), st.lists(st.integers(2, 6), min_size=2, max_size=3), st.integers(1, 12), st.integers(0, 2))
def test_no_assignment_is_easier(scale: Scale, gaps: list[int], index_fret: int, stretch: int) -> None:
    """The effort found is the least over every way to give each tone a reachable string, never stepping down."""
    build = Instrument(id="x", name="x", tuning=pitches(40, tuple(gaps)), frets=24, scale_length_mm=648.0)
    strings = strings_between(build, None, None)
    reach = Reach(low=index_fret, high=index_fret + 3, below=min(stretch, index_fret), above=stretch)
    found = hold(scale, build, strings, reach, HandPlace(index_fret=index_fret))
    own = [
        pitch
        for string in strings
        for pitch in scale_pitches(scale, _at(build, string, reach.low), _at(build, string, reach.high))
    ]
    tones = scale_pitches(scale, min(own), max(own))[:9]  # nine tones: at most 4 ** 9 assignments, few reachable
    if found is None or len(scale_pitches(scale, min(own), max(own))) > len(tones):
        return
    assert found.effort == min(_efforts(build, strings, reach, tones))
    assert [build.midi_at(place) for place in found.places] == tones


def _at(build: Instrument, string: int, fret: int) -> int:
    return build.midi_at(StringFret(string, fret))


def _efforts(build: Instrument, strings: tuple[int, ...], reach: Reach, tones: list[int]) -> list[int]:
    reachable = [
        [rank for rank, string in enumerate(strings) if reach.outside(tone - _at(build, string, 0)) is not None]
        for tone in tones
    ]
    efforts = []
    for ranks in product(*reachable):
        if any(b < a for a, b in pairwise(ranks)):
            continue
        stretched = sum(
            reach.outside(tone - _at(build, strings[rank], 0)) or 0 for tone, rank in zip(tones, ranks, strict=True)
        )
        skipped = sum(max(0, abs(strings[a] - strings[b]) - 1) for a, b in pairwise(ranks))
        efforts.append(STRETCH * stretched + SKIP * skipped)
    return efforts

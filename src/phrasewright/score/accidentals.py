"""Which accidentals are printed: those that differ from the key signature and from the bar so far.

An accidental holds to the bar line on its own line or space and octave; a note tied over the bar line keeps its own
without one. Common practice.
"""

from __future__ import annotations

from collections.abc import Iterable

from phrasewright.score.notation import WrittenBar
from phrasewright.theory.key import signature_alter


def printed_accidentals(bars: Iterable[WrittenBar], fifths: int) -> frozenset[tuple[int, int]]:
    """(bar index, note index) of every note that carries a printed accidental where it begins in that bar."""
    return frozenset((place, index) for place, bar in enumerate(bars) for index in _in_bar(bar, fifths))


def _in_bar(bar: WrittenBar, fifths: int) -> Iterable[int]:
    state: dict[tuple[str, int], int] = {}
    events = sorted((event for voice in bar.voices for event in voice), key=lambda event: event.onset)
    for event in events:
        if event.tied_from:
            continue
        for index, note in zip(event.indices, event.notes, strict=True):
            name = note.pitch.name
            place = (name.letter, note.pitch.octave)
            if state.get(place, signature_alter(fifths, name.letter)) != name.alter:
                yield index
            state[place] = name.alter

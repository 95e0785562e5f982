"""A motif written by degrees is found again note for note."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from phrasewright.lesson.written import find_written, written_of
from phrasewright.melody.motif import Motif
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import Position, PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.neck.search import find_position
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

POSITIONS = [
    find_position(
        Scale(NoteName.parse("A"), SCALE_KINDS[kind]), instrument("guitar"), PositionRequest(style=style, fret=5)
    )
    for kind in ("minor-pentatonic", "dorian")
    for style in (PositionStyle.BOX, PositionStyle.THREE_PER_STRING)
]


@given(st.sampled_from(POSITIONS), st.data())
def test_what_is_written_is_found(position: Position, data: st.DataObject) -> None:
    """Any walk whose leaps stay within an octave's worth of notes, up or down, repeated notes too."""
    notes = len(position.notes)
    steps = [data.draw(st.integers(0, notes - 1))]
    for _ in range(data.draw(st.integers(1, 4))):
        low, high = max(0, steps[-1] - 4), min(notes - 1, steps[-1] + 4)
        steps.append(data.draw(st.integers(low, high)))
    motif = Motif(position, tuple(steps))
    assert find_written(written_of(motif), position) == motif

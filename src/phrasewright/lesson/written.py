"""Find a motif that a teacher wrote by degrees among the notes of a position, and write one so that it is found."""

from __future__ import annotations

from itertools import pairwise

from phrasewright.lesson.model import Way, WrittenMotif, WrittenNote
from phrasewright.melody.motif import Motif
from phrasewright.neck.place import Position


class NotInPositionError(ValueError):
    """A written motif that leaves the position."""


def find_written(written: WrittenMotif, position: Position) -> Motif:
    """The motif in a position. Raises NotInPositionError, in words for a teacher, when it has not all the notes."""
    steps = [_first(written, position)]
    for note in written.notes[1:]:
        step = _next(note, steps[-1], position)
        if step is None:
            before = position.notes[steps[-1]]
            where = {Way.NEAREST: "", Way.UP: f" above its {before.degree}", Way.DOWN: f" below its {before.degree}"}
            raise NotInPositionError(f"the position has no {note.degree}{where[note.way]}")
        steps.append(step)
    return Motif(position, tuple(steps))


def written_of(motif: Motif) -> WrittenMotif:
    """How a motif is written so that ``find_written`` finds it. Raises ValueError for a leap that cannot be written."""
    position = motif.position
    first = motif.notes[0]
    notes = [WrittenNote(first.degree)]
    for before, step in pairwise(motif.steps):
        degree = position.notes[step].degree
        ways = (WrittenNote(degree, way) for way in Way)
        found = next((note for note in ways if _next(note, before, position) == step), None)
        if found is None:
            raise ValueError(f"{degree} lies too far from {position.notes[before].degree}")
        notes.append(found)
    return WrittenMotif(notes=tuple(notes), cycle=first.cycle)


def _first(written: WrittenMotif, position: Position) -> int:
    degree = written.notes[0].degree
    for step, note in enumerate(position.notes):
        if note.degree == degree and note.cycle == written.cycle:
            return step
    raise NotInPositionError(f"cycle {written.cycle} of the position has no {degree}")


def _next(note: WrittenNote, before: int, position: Position) -> int | None:
    """The step of the next note: nearest, the upper one when equally near; or the first one up or down."""
    steps = [step for step, other in enumerate(position.notes) if other.degree == note.degree]
    if note.way is Way.UP:
        return min((step for step in steps if step > before), default=None)
    if note.way is Way.DOWN:
        return max((step for step in steps if step < before), default=None)
    return min(steps, key=lambda step: (abs(step - before), -step), default=None)

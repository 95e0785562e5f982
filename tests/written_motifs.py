"""Motifs for tests, written by degree as a lesson file writes them."""

from __future__ import annotations

from phrasewright.lesson.model import WrittenMotif, WrittenNote
from phrasewright.lesson.written import find_written
from phrasewright.melody.motif import Motif
from phrasewright.neck.place import Position
from phrasewright.theory.interval import Degree


def motif_from_text(position: Position, text: str) -> Motif:
    """``1 b3 4``: each note the nearest of its degree, from cycle 1."""
    notes = tuple(WrittenNote(Degree.parse(word)) for word in text.split())
    return find_written(WrittenMotif(notes=notes), position)

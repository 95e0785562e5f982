"""Running without rest: one note on every counted unit, motif after motif, and one long note to end on."""

from __future__ import annotations

from collections.abc import Sequence

from phrasewright.compose.material import Material
from phrasewright.compose.targets import target_note
from phrasewright.melody.phrase import score_note
from phrasewright.melody.shelf import ShelfMotif
from phrasewright.neck.place import PositionNote
from phrasewright.score.model import Note


def running_notes(material: Material, bars: int) -> tuple[Note, ...]:
    """An unbroken line over all bars but the last, which holds one note of its chord (the motif's last without)."""
    unit, bar = material.meter.unit, material.meter.bar
    line = _line(material.shelf.items, (bars - 1) * material.meter.upper)
    notes = [score_note(note, index * unit, unit * units, label=label) for index, (note, units, label) in line]
    last = material.shelf.items[-1].motif.notes[-1] if not line else line[-1][1][0]
    at = (bars - 1) * bar
    ending = target_note(material, at, near=last)
    return (*notes, score_note(ending.note if ending else last, at, bar))


def _line(items: Sequence[ShelfMotif], units: int) -> list[tuple[int, tuple[PositionNote, int, str]]]:
    """(unit index, (note, length in units, label)): motifs in turn, the last cut or stretched to fill the line."""
    line: list[tuple[int, tuple[PositionNote, int, str]]] = []
    at, turn = 0, 0
    while at < units:
        item = items[turn % len(items)]
        notes = item.motif.notes[: units - at]
        for index, note in enumerate(notes):
            line.append((at + index, (note, 1, item.letter if index == 0 else "")))
        at, turn = at + len(notes), turn + 1
        if units - at == 1:
            index, (note, length, label) = line[-1]
            line[-1] = (index, (note, length + 1, label))
            at += 1
    return line

"""Whether a line's touches can be played: what each note needs of the one before it on its string.

Common practice: a hammer-on, pull-off or slide carries on a string that still sounds; only a pressed string can be
bent, shaken or slid along; a finger reaches ``WIDEST_LEGATO`` frets without moving the hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from phrasewright.neck.instrument import Instrument
from phrasewright.score.model import Note
from phrasewright.score.technique import PLAIN, Damping, Start, Touch
from phrasewright.theory.pitch import LETTERS, NoteName, Pitch

WIDEST_LEGATO = 5  # frets of a hammer-on or pull-off between stopped notes
WIDEST_SLIDE = 12  # frets


def source_of(notes: Sequence[Note], index: int) -> int | None:
    """The note from which a note of a line (by onset) could be played legato: it ends there, on the same string."""
    note = notes[index]
    if note.place is None:
        return None
    for before in range(index - 1, -1, -1):
        place = notes[before].place
        if place is not None and place.string == note.place.string and notes[before].onset < note.onset:
            return before if notes[before].end == note.onset else None
    return None


def handed_on(notes: Sequence[Note]) -> frozenset[int]:
    """The notes whose string goes on sounding in the next one: those that a legato note comes from."""
    sources = (source_of(notes, index) for index, note in enumerate(notes) if note.touch.is_legato)
    return frozenset(source for source in sources if source is not None)


def fretted_pitch(note: Note) -> Pitch:
    """The pitch of a note's fret: the written one, or what a bend begins on, spelled as the simplest neighbour."""
    if note.touch.bend is None:
        return note.pitch
    midi = note.pitch.midi - note.touch.bend.semitones
    name = note.pitch.name
    below = LETTERS[LETTERS.index(name.letter) - 1]
    near = [NoteName(letter, alter) for letter in (below, name.letter) for alter in range(-2, 3)]
    fitting = [name for name in near if (midi - name.pitch_class) % 12 == 0]
    return Pitch.from_midi(midi, min(fitting, key=lambda name: abs(name.alter)))


def fault(notes: Sequence[Note], index: int, instrument: Instrument | None) -> str:
    """Why a note cannot be played as its touch says; empty when it can. notes: a line by onset."""
    note = notes[index]
    if note.touch == PLAIN:
        return ""
    if instrument is None or note.place is None:
        return "it has no place on a neck"
    bent = 0 if note.touch.bend is None else note.touch.bend.semitones
    if instrument.midi_at(note.place) + bent != note.pitch.midi:
        return "its place does not sound its pitch"
    if note.place.fret == instrument.capo and (note.touch.vibrato or bent):
        return "an open string is neither bent nor shaken"
    return _legato_fault(notes, index, instrument) if note.touch.is_legato else ""


def mended(notes: Sequence[Note], instrument: Instrument | None) -> tuple[Note, ...]:
    """The line with every touch that cannot be played taken back to a plain stroke.

    Dead notes stay; for lines of which something was taken away.
    """
    line = list(notes)
    for index, note in enumerate(line):
        if fault(line, index, instrument):
            kept = Touch(vibrato=note.touch.vibrato, damping=note.touch.damping)
            line[index] = replace(note, touch=kept)
            if fault(line, index, instrument):
                line[index] = replace(note, touch=PLAIN)
    return tuple(line)


def _legato_fault(notes: Sequence[Note], index: int, instrument: Instrument) -> str:
    source = source_of(notes, index)
    here, before = notes[index].place, None if source is None else notes[source]
    if before is None or before.place is None or here is None:
        return "no note on its string sounds up to it"
    if before.touch.damping is Damping.DEAD or before.touch.bend is not None:
        return "the note before is dead or bent"
    rise = here.fret - before.place.fret
    if notes[index].touch.start is Start.SLID:
        return _slide_fault(rise, min(here.fret, before.place.fret), instrument)
    if (rise if notes[index].touch.start is Start.HAMMERED else -rise) <= 0:
        return "a hammer-on goes up and a pull-off down"
    stopped = min(here.fret, before.place.fret) > instrument.capo
    return "the fingers do not reach so far" if stopped and abs(rise) > WIDEST_LEGATO else ""


def _slide_fault(rise: int, lower_fret: int, instrument: Instrument) -> str:
    if not 1 <= abs(rise) <= WIDEST_SLIDE:
        return f"a slide goes 1 to {WIDEST_SLIDE} frets"
    return "an open string cannot be slid from or to" if lower_fret == instrument.capo else ""

"""The neck as the teacher's desk draws it: the whole of it, the position, and every other note of the scale.

Distances are shares of the string, nut = 0, so that frets stand where they do on wood.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from phrasewright.engrave.spoken import spoken_position
from phrasewright.errors import NeckError
from phrasewright.lesson.plan import LessonPlan
from phrasewright.lesson.words import spot_text
from phrasewright.neck.instrument import Hand, StringFret
from phrasewright.neck.place import Position
from phrasewright.neck.search import find_position
from phrasewright.theory.pitch import Pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class StringOnDesk:
    """A string. number: 1 is the one nearest the floor; name: of the open string, printed."""

    number: int
    name: str
    midi: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteOnDesk:
    """A note of the scale. place: ``string-fret``; finger, cycle: None outside the position.

    spot: what leaves it out, ``b7 cycle 2``, "" outside; added: reached for beyond the hand.
    """

    place: str
    string: int
    fret: int
    midi: int
    degree: str
    name: str
    root: bool
    finger: int | None = None
    cycle: int | None = None
    spot: str = ""
    added: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckOnDesk:
    """frets: share of the string's length from the nut, fret 0 first; left_handed: the right hand frets.

    position: low to high; dropped: notes of it that the lesson leaves out; others: the scale elsewhere on the neck.
    fret: where the hand lies, counted from the nut.
    """

    strings: list[StringOnDesk]
    frets: list[float]
    capo: int
    left_handed: bool
    fret: int
    highest_fret: int
    name: str
    words: str
    position: list[NoteOnDesk]
    dropped: list[NoteOnDesk]
    others: list[NoteOnDesk]


def place_text(place: StringFret) -> str:
    """A place as figures name it."""
    return f"{place.string}-{place.fret}"


def neck_on_desk(plan: LessonPlan) -> NeckOnDesk:
    """The neck of a lesson."""
    position, instrument = plan.position, plan.lesson.instrument
    whole = _whole(plan)
    used = {note.place for note in position.notes}
    return NeckOnDesk(
        strings=[
            StringOnDesk(number=number, name=pitch.name.printed, midi=pitch.midi)
            for number, pitch in enumerate(instrument.tuning, start=1)
        ],
        frets=[round(instrument.fret_mm(fret) / instrument.scale_length_mm, 5) for fret in range(instrument.frets + 1)],
        capo=instrument.capo,
        left_handed=instrument.fretting_hand is Hand.RIGHT,
        fret=position.fretted_low,
        highest_fret=instrument.frets,
        name=position.name,
        words=spoken_position(position),
        position=_notes(position),
        dropped=[note for note in _notes(whole) if note.place not in {place_text(place) for place in used}],
        others=_others(plan, {note.place for note in whole.notes}),
    )


def _whole(plan: LessonPlan) -> Position:
    """The position with the notes that are left out."""
    request = plan.lesson.position
    if not request.left_out:
        return plan.position
    try:
        return find_position(plan.lesson.scale, plan.lesson.instrument, replace(request, left_out=()))
    except NeckError:
        return plan.position


def _notes(position: Position) -> list[NoteOnDesk]:
    root = position.scale.root.pitch_class
    return [
        NoteOnDesk(
            place=place_text(note.place),
            string=note.place.string,
            fret=note.place.fret,
            midi=note.pitch.midi,
            degree=note.degree.printed,
            name=note.pitch.name.printed,
            root=note.pitch.midi % 12 == root,
            finger=note.finger,
            cycle=note.cycle,
            spot=spot_text(note.degree, note.cycle),
            added=note.added,
        )
        for note in position.notes
    ]


def _others(plan: LessonPlan, taken: set[StringFret]) -> list[NoteOnDesk]:
    scale, instrument = plan.lesson.scale, plan.lesson.instrument
    found = []
    for string in instrument.strings:
        for fret in range(instrument.capo, instrument.frets + 1):
            place = StringFret(string, fret)
            midi = instrument.midi_at(place)
            degree = scale.degree_at(midi)
            if degree is None or place in taken:
                continue
            name = Pitch.from_midi(midi, degree.above(scale.root)).name
            found.append(
                NoteOnDesk(
                    place=place_text(place),
                    string=string,
                    fret=fret,
                    midi=midi,
                    degree=degree.printed,
                    name=name.printed,
                    root=midi % 12 == scale.root.pitch_class,
                )
            )
    return found

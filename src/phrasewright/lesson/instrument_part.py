"""The instrument, from its section: a kind of the catalogue with anything about it changed, or one of its own."""

from __future__ import annotations

from typing import Any

from phrasewright.lesson.desk import Desk, did_you_mean
from phrasewright.lesson.schema import OTHER_INSTRUMENT, InstrumentSection
from phrasewright.lesson.words import choice, words_of
from phrasewright.neck.catalogue import INSTRUMENT_KINDS, InstrumentKind, instrument
from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.theory.pitch import NoteName, Pitch

OTHER_NAME = "own instrument"
LEAST_STRINGS, MOST_STRINGS = 3, 12
_GUITAR = INSTRUMENT_KINDS["guitar"]
_PATH = ("instrument", "tuning")
_OTHER_NAMES = {
    "7-string": "guitar-7",
    "7-string-guitar": "guitar-7",
    "seven-string-guitar": "guitar-7",
    "8-string": "guitar-8",
    "8-string-guitar": "guitar-8",
    "eight-string-guitar": "guitar-8",
    "5-string-bass": "bass-5",
    "five-string-bass": "bass-5",
    "baritone-guitar": "baritone",
    "bass-guitar": "bass",
    "electric-guitar": "guitar",
    "acoustic-guitar": "guitar",
    "nylon-string-guitar": "classical-guitar",
}


def instrument_of(section: InstrumentSection, desk: Desk) -> Instrument | None:
    """The instrument; None after noting what is wrong."""
    kinds = (*INSTRUMENT_KINDS, OTHER_INSTRUMENT)
    kind = choice(("instrument", "kind"), section.kind, kinds, "instrument", desk, others=_OTHER_NAMES)
    hand = choice(("instrument", "fretting_hand"), section.fretting_hand, Hand, "hand", desk)
    if kind is None or hand is None or desk.is_wrong("instrument"):
        return None
    tuning = _tuning(section.tuning, INSTRUMENT_KINDS.get(kind), desk)
    frets = section.frets or INSTRUMENT_KINDS.get(kind, _GUITAR).frets
    if section.capo >= frets - 4:
        what = f"a capo at fret {section.capo} leaves too little of a neck with {frets} frets"
        desk.wrong_value(("instrument", "capo"), what, f"Write 0 to {frets - 5}.")
        return None
    if tuning is None:
        return None
    changes: dict[str, Any] = {"capo": section.capo, "frets": frets, "fretting_hand": Hand(hand)}
    if section.scale_length_mm is not None:
        changes["scale_length_mm"] = float(section.scale_length_mm)
    return _other(tuning, changes) if kind == OTHER_INSTRUMENT else instrument(kind, tuning=tuning, **changes)


def _other(tuning: str | tuple[Pitch, ...], changes: dict[str, Any]) -> Instrument:
    if isinstance(tuning, str):
        raise ValueError("an instrument of one's own has no named tuning")
    usual = {"scale_length_mm": _GUITAR.scale_length_mm, "written_octaves": _GUITAR.written_octaves}
    return Instrument(**(usual | changes), id=OTHER_INSTRUMENT, name=OTHER_NAME, tuning=tuning)


def _tuning(text: str, kind: InstrumentKind | None, desk: Desk) -> str | tuple[Pitch, ...] | None:
    """The id of a named tuning, or pitches with string 1 first; None after noting what is wrong."""
    named = [tuning.id for tuning in kind.tunings] if kind else []
    if text in named:
        return text
    words = list(words_of(text))
    if words and _all_notes(text):
        hint = "Write them from the last string to the first, C4 is middle C: E2 A2 D3 G3 B3 E4."
        desk.wrong_value(_PATH, "these notes need their octaves", hint)
        return None
    if not any(letter.isdigit() for letter in text):
        hint = (
            did_you_mean(text, named, "tunings")
            if named
            else "Write its open notes, from the last string to the first."
        )
        desk.wrong_value(_PATH, f'there is no tuning "{text}" of this instrument', hint)
        return None
    pitches = [pitch for word, position in words if (pitch := _open_note(word, position, desk)) is not None]
    if len(pitches) < len(words):
        return None
    if kind and len(pitches) != len(kind.tunings[0].pitches):
        what = f"a {kind.name} has {len(kind.tunings[0].pitches)} strings, this tuning has {len(pitches)}"
        hint = f'Write one note a string, or kind = "{OTHER_INSTRUMENT}" for an instrument of your own.'
        desk.wrong_value(_PATH, what, hint)
        return None
    if not LEAST_STRINGS <= len(pitches) <= MOST_STRINGS:
        what = f"an instrument has {LEAST_STRINGS} to {MOST_STRINGS} strings, this tuning has {len(pitches)}"
        desk.wrong_value(_PATH, what, "Write one open note for each string.")
        return None
    return tuple(reversed(pitches))


def _all_notes(text: str) -> bool:
    """Whether every word is a note name without its octave."""
    try:
        return bool([NoteName.parse(word) for word, _ in words_of(text)])
    except ValueError:
        return False


def _open_note(word: str, position: int, desk: Desk) -> Pitch | None:
    try:
        pitch = Pitch.parse(word)
    except ValueError:
        hint = "Write notes with their octaves, from the last string to the first: E2 A2 D3 G3 B3 E4."
        desk.wrong_character(_PATH, position, f'"{word}" is not a note with its octave', hint)
        return None
    if not 12 <= pitch.midi <= 100:
        hint = "C4 is middle C; a guitar's lowest string is E2."
        desk.wrong_character(
            _PATH, position, f"no string sounds as {'low' if pitch.midi < 12 else 'high'} as {word}", hint
        )
        return None
    return pitch

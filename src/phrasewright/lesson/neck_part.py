"""The instrument, the scale and the wished position, from their sections."""

from __future__ import annotations

import re

from phrasewright.lesson.desk import Desk
from phrasewright.lesson.schema import DEFAULT_SCALE, PositionSection, ScaleSection
from phrasewright.lesson.words import choice, degree_at, spot_at, words_of
from phrasewright.neck.instrument import Instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale, ScaleKind, custom_scale_kind

LEAST_TONES, MOST_TONES = 5, 12
_OTHER_SCALE_NAMES = {
    "ionian": "major",
    "aeolian": "minor",
    "natural-minor": "minor",
    "pentatonic": DEFAULT_SCALE,
    "minor-blues": "blues",
    "diminished": "diminished-whole-half",
    "jazz-minor": "melodic-minor",
    "ascending-melodic-minor": "melodic-minor",
    "super-locrian": "altered",
    "octatonic": "diminished-half-whole",
}


def scale_of(section: ScaleSection, desk: Desk) -> Scale | None:
    """The scale; None after noting what is wrong."""
    root = _root(section.root, desk) if not desk.is_wrong("scale", "root") else None
    kind = _scale_kind(section, desk)
    if root is None or kind is None:
        return None
    scale = Scale(root, kind)
    try:
        _ = scale.notes
    except ValueError:
        what = f"the {kind.name} scale on {root} cannot be spelled with three accidentals"
        desk.wrong_value(("scale", "root"), what, "Write the root by its other name, for instance F instead of E#.")
        return None
    return scale


def _root(text: str, desk: Desk) -> NoteName | None:
    try:
        return NoteName.parse(text)
    except ValueError:
        pass
    first = text.split()[0] if text.split() else ""
    if len(text.split()) > 1 and re.fullmatch(r"[A-Ga-g][#b]?", first):
        hint = f'Write root = "{first}" and put the scale\'s name in kind.'
    elif first in ("H", "h"):
        hint = 'Write "B" for the note a semitone below C, "Bb" for the one below that.'
    else:
        hint = 'Write a letter from A to G, with # or b behind it where needed: "F#", "Bb".'
    desk.wrong_value(("scale", "root"), f'"{text}" is not a note', hint)
    return None


def _scale_kind(section: ScaleSection, desk: Desk) -> ScaleKind | None:
    if desk.is_wrong("scale", "kind") or desk.is_wrong("scale", "degrees"):
        return None
    if section.degrees is None:
        name = section.kind or DEFAULT_SCALE
        found = choice(("scale", "kind"), name, SCALE_KINDS, "scale", desk, others=_OTHER_SCALE_NAMES)
        return SCALE_KINDS[found] if found else None
    if section.kind is not None:
        what = "a scale is given by kind or by degrees, not by both"
        desk.wrong_key(("scale", "degrees"), what, "Take one of the two out.")
        return None
    return _own_scale(section.degrees, desk)


def _own_scale(text: str, desk: Desk) -> ScaleKind | None:
    path = ("scale", "degrees")
    degrees: list[Degree] = []
    for word, position in words_of(text):
        degree = degree_at(path, word, position, desk)
        if degree is None:
            continue
        size, before = degree.interval.semitones, degrees[-1].interval.semitones if degrees else -1
        if not degrees and degree != Degree(1):
            desk.wrong_character(path, position, f"a scale begins with 1, not {word}", "Write the root first.")
        elif not before < size <= 11:
            what = f"{word} does not rise from the degree before it within one octave"
            desk.wrong_character(path, position, what, "Write the degrees from low to high, each sounding once.")
        degrees.append(degree)
    if desk.is_wrong(*path):
        return None
    if not LEAST_TONES <= len(degrees) <= MOST_TONES:
        what = f"a scale has {LEAST_TONES} to {MOST_TONES} degrees, this one has {len(degrees)}"
        desk.wrong_value(path, what, 'For instance "1 b3 4 5 b7".')
        return None
    return custom_scale_kind(tuple(degrees))


def position_of(
    section: PositionSection, instrument: Instrument | None, scale: Scale | None, desk: Desk
) -> PositionRequest | None:
    """What is asked of the neck; None after noting what is wrong."""
    before = len(desk.problems)
    style = choice(("position", "style"), section.style, PositionStyle, "style", desk)
    if style is not None and not desk.is_wrong("position", "style"):
        _keys_of_other_styles(section, PositionStyle(style), desk)
    if instrument is not None:
        _off_the_neck(section, instrument, desk)
    low, high = section.lowest_string, section.highest_string
    if low is not None and high is not None and low < high:
        what = f"string {low} is higher than string {high}: string 1 is the one nearest the floor"
        desk.wrong_value(("position", "lowest_string"), what, "Exchange lowest_string and highest_string.")
    left_out = _left_out(section, scale, desk)
    if style is None or len(desk.problems) > before:
        return None
    return PositionRequest(
        style=PositionStyle(style),
        fret=section.fret,
        lowest_string=low,
        highest_string=high,
        string=section.string,
        notes_per_string=section.notes_per_string or 3,
        max_stretch_mm=None if section.max_stretch_mm is None else float(section.max_stretch_mm),
        added_above=section.added_above,
        added_below=section.added_below,
        left_out=left_out,
    )


def _left_out(section: PositionSection, scale: Scale | None, desk: Desk) -> tuple[tuple[Degree, int | None], ...]:
    texts = enumerate(section.left_out or ())
    found = [spot_at(("position", "left_out", number), text, scale, desk) for number, text in texts]
    return tuple(dict.fromkeys((spot.degree, spot.cycle) for spot in found if spot is not None))


def _keys_of_other_styles(section: PositionSection, style: PositionStyle, desk: Desk) -> None:
    belongs = {"string": PositionStyle.ONE_STRING, "notes_per_string": PositionStyle.THREE_PER_STRING}
    for key, owner in belongs.items():
        if getattr(section, key) is not None and style is not owner:
            hint = f'Take it out, or write style = "{owner}".'
            desk.wrong_key(("position", key), f'"{key}" means nothing to the style "{style}"', hint)
    if style is PositionStyle.ONE_STRING:
        for key in ("lowest_string", "highest_string"):
            if getattr(section, key) is not None:
                hint = "Take it out; string says which one."
                desk.wrong_key(("position", key), f'"{key}" means nothing to the style "{style}"', hint)


def _off_the_neck(section: PositionSection, instrument: Instrument, desk: Desk) -> None:
    strings = len(instrument.tuning)
    for key in ("lowest_string", "highest_string", "string"):
        number = getattr(section, key)
        if number is not None and number > strings:
            what = f"there is no string {number} on this instrument, it has {strings}"
            desk.wrong_value(("position", key), what, f"Write 1 (nearest the floor) to {strings}.")
    fret = section.fret
    if fret is not None and fret > instrument.frets:
        hint = f"Write a fret from {instrument.capo} to {instrument.frets}."
        desk.wrong_value(("position", "fret"), f"there is no fret {fret} on this instrument", hint)
    elif fret is not None and 0 < fret < instrument.capo:
        hint = f"Write a fret from {instrument.capo} up; frets count from the nut."
        desk.wrong_value(("position", "fret"), f"fret {fret} lies behind the capo at {instrument.capo}", hint)

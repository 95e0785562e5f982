"""Spoken directions: names, places, positions, motifs and rhythms in plain words.

For a narrator and for a blind student.

Everything is said in the order of playing, string by string and fret by fret; signs are spelled out (``F sharp``,
``flat third``). Strings are numbered as players number them and named by their open note. Frets count from the
nut. The reading of chord names is common practice (from memory).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby

from phrasewright.melody.motif import Contour, Motif
from phrasewright.neck.instrument import Hand, Instrument, StringFret
from phrasewright.neck.place import Position, PositionNote
from phrasewright.theory.chord import Action, Alteration, Chord
from phrasewright.theory.count import Count, Stroke
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

_NUMBERS = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_ORDINALS = {"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth"}
_ORDINALS |= {"twelve": "twelfth"}
_FINGERS = ("open", "index finger", "middle finger", "ring finger", "little finger")
_SIGNS = dict(
    zip(
        range(-3, 4),
        ("triple flat ", "double flat ", "flat ", "", "sharp ", "double sharp ", "triple sharp "),
        strict=True,
    )
)
_KINDS = {
    "major": "major",
    "minor": "minor",
    "augmented": "augmented",
    "diminished": "diminished",
    "dominant": "seven",
    "major-seventh": "major seven",
    "minor-seventh": "minor seven",
    "diminished-seventh": "diminished seven",
    "augmented-seventh": "augmented seven",
    "half-diminished": "minor seven flat five",
    "major-minor": "minor with a major seven",
    "major-sixth": "six",
    "minor-sixth": "minor six",
    "dominant-ninth": "nine",
    "major-ninth": "major nine",
    "minor-ninth": "minor nine",
    "dominant-11th": "eleven",
    "major-11th": "major eleven",
    "minor-11th": "minor eleven",
    "dominant-13th": "thirteen",
    "major-13th": "major thirteen",
    "minor-13th": "minor thirteen",
    "suspended-second": "suspended two",
    "suspended-fourth": "suspended four",
    "Neapolitan": "Neapolitan sixth",
    "Italian": "Italian sixth",
    "French": "French sixth",
    "German": "German sixth",
    "pedal": "pedal",
    "power": "five",
    "Tristan": "Tristan chord",
}
_SHARES = {  # alone, and after a whole number
    Fraction(1, 2): ("half a beat", "a half"),
    Fraction(1, 3): ("a third of a beat", "a third"),
    Fraction(2, 3): ("two thirds of a beat", "two thirds"),
    Fraction(1, 4): ("a quarter of a beat", "a quarter"),
    Fraction(3, 4): ("three quarters of a beat", "three quarters"),
}
_CONTOURS = {
    Contour.RISING: "rising",
    Contour.FALLING: "falling",
    Contour.ARCH: "up and then down",
    Contour.DIP: "down and then up",
    Contour.WAVE: "winding up and down",
}
_INSIDE = {
    Fraction(1, 2): "and",
    Fraction(1, 4): "e",
    Fraction(3, 4): "a",
    Fraction(1, 3): "trip",
    Fraction(2, 3): "let",
}


def spoken_number(number: int) -> str:
    """A whole number 0..99 in words; larger ones stay digits. Raises ValueError below 0."""
    if number < 0:
        raise ValueError(f"only counts are spoken, got {number}")
    if number < 20:
        return _NUMBERS[number]
    if number > 99:
        return str(number)
    tens, ones = divmod(number, 10)
    return _TENS[tens - 2] + (f"-{_NUMBERS[ones]}" if ones else "")


def spoken_ordinal(number: int) -> str:
    """``first``, ``twenty-second`` ..."""
    head, dash, last = spoken_number(number).rpartition("-")
    if last.isdigit():
        return f"{last}th"
    regular = f"{last[:-1]}ieth" if last.endswith("y") else f"{last}th"
    return head + dash + _ORDINALS.get(last, regular)


def spoken_name(name: NoteName) -> str:
    """``F sharp``, ``B double flat``."""
    return f"{name.letter} {_SIGNS[name.alter]}".strip()


def spoken_degree(degree: Degree) -> str:
    """``root``, ``flat third``, ``sharp eleventh``."""
    if degree == Degree(1):
        return "root"
    return _SIGNS.get(degree.alter, f"{abs(degree.alter)} times altered ") + spoken_ordinal(degree.number)


def spoken_chord(chord: Chord | None) -> str:
    """``F sharp minor seven flat five over C``; None is ``no chord``."""
    if chord is None:
        return "no chord"
    words = [spoken_name(chord.root), _KINDS[chord.kind.id]]
    words += [_spoken_alteration(change) for change in chord.alterations]
    words += [] if chord.bass is None else [f"over {spoken_name(chord.bass)}"]
    return " ".join(words)


def _spoken_alteration(change: Alteration) -> str:
    if change.action is Action.SUBTRACT:
        return f"without the {spoken_degree(change.degree)}"
    number = f"{_SIGNS.get(change.degree.alter, '')}{spoken_number(change.degree.number)}"
    plain_add = change.action is Action.ADD and not change.degree.alter
    return f"add {number}" if plain_add else number


def spoken_string(instrument: Instrument, string: int) -> str:
    """``fifth string, the A string``."""
    return f"{spoken_ordinal(string)} string, the {spoken_name(instrument.tuning[string - 1].name)} string"


def spoken_fret(instrument: Instrument, place: StringFret) -> str:
    """``open``, ``third fret``; at a capo ``open at the capo``."""
    if place.fret == instrument.capo:
        return "open at the capo" if instrument.capo else "open"
    return f"{spoken_ordinal(place.fret)} fret"


def spoken_place(instrument: Instrument, place: StringFret) -> str:
    """``fifth string open``, ``fifth string, third fret``."""
    comma = " " if place.fret == instrument.capo else ", "
    return f"{spoken_ordinal(place.string)} string{comma}{spoken_fret(instrument, place)}"


def spoken_position(position: Position) -> str:
    """A position from its lowest note up: a sentence for each string, with finger and degree of every note."""
    instrument = position.instrument
    sentences = [_spoken_hand(instrument)] if instrument.capo or instrument.fretting_hand is Hand.RIGHT else []
    for string, notes in groupby(position.notes, key=lambda note: note.place.string):
        words = "; ".join(_spoken_position_note(instrument, note) for note in notes)
        sentences.append(f"{_capital(spoken_string(instrument, string))}: {words}.")
    return " ".join(sentences)


def _spoken_hand(instrument: Instrument) -> str:
    capo = f"Put the capo at the {spoken_ordinal(instrument.capo)} fret; frets are counted from the nut."
    hand = "The right hand frets the strings." if instrument.fretting_hand is Hand.RIGHT else ""
    return f"{capo if instrument.capo else ''} {hand}".strip()


def _spoken_position_note(instrument: Instrument, note: PositionNote) -> str:
    finger = f" with the {_FINGERS[note.finger]}" if note.finger else ""
    extra = ", an added note" if note.added else ""
    return f"{spoken_fret(instrument, note.place)}{finger}, which is the {spoken_degree(note.degree)}{extra}"


def spoken_beats(length: Fraction, unit: Fraction) -> str:
    """A stretch of time in counted units: ``two beats``, ``one and a half beats``, ``half a beat``."""
    whole, share = divmod(length / unit, 1)
    alone, after = _SHARES.get(share, (f"{share} of a beat", f"{share}"))
    if not whole:
        return alone if share else "no time"
    if not share:
        return "one beat" if whole == 1 else f"{spoken_number(whole)} beats"
    return f"{spoken_number(whole)} and {after} beats"


def spoken_moment(offset: Fraction, meter: Meter) -> str:
    """Where in a bar something begins, in count words: ``one``, ``the and of two``, ``the let of three``."""
    unit, part = divmod(offset / meter.unit, 1)
    number = spoken_number(unit + 1)
    if not part:
        return number
    return f"the {_INSIDE[part]} of {number}" if part in _INSIDE else f"shortly after {number}"


def spoken_count(count: Count) -> str:
    """A rhythm as it is counted aloud, holds and rests named: ``one, two and, three, then rest for one beat``."""
    meter, pieces, at = count.meter, [], Fraction(0)
    for stroke in count.strokes:
        pieces += _spoken_gap(at, stroke.onset, meter)
        pieces.append(_spoken_stroke(stroke, meter, count.bars))
        at = stroke.onset + stroke.duration
    pieces += _spoken_gap(at, count.length, meter)
    return ", ".join(pieces)


def _spoken_stroke(stroke: Stroke, meter: Meter, bars: int) -> str:
    bar, offset = divmod(stroke.onset, meter.bar)
    place = f" of bar {spoken_number(bar + 1)}" if bars > 1 and bar else ""
    held = f", held for {spoken_beats(stroke.duration, meter.unit)}" if stroke.duration > meter.unit else ""
    return f"{spoken_moment(offset, meter)}{place}{held}"


def _spoken_gap(start: Fraction, end: Fraction, meter: Meter) -> list[str]:
    """Silence worth saying: half a unit or more."""
    if end - start < meter.unit / 2:
        return []
    return [f"{'then ' if start else ''}rest for {spoken_beats(end - start, meter.unit)}"]


def spoken_motif(motif: Motif, letter: str, count: Count | None = None) -> str:
    """A motif: its degrees, where each note lies, and its rhythm when it has one."""
    degrees = ", ".join(spoken_degree(note.degree) for note in motif.notes)
    number = spoken_number(len(motif.notes))
    rhythm = "" if count is None else f" Count: {spoken_count(count)}."
    line = "all on one pitch" if motif.contour is Contour.LEVEL else f"{_CONTOURS[motif.contour]}"
    return f"Motif {letter}: {number} notes, {line}: {degrees}. Play {spoken_walk(motif)}.{rhythm}"


def spoken_walk(motif: Motif) -> str:
    """The places of a motif in playing order, each string named once per visit: ``fifth string open, third fret``."""
    instrument, strings = motif.position.instrument, []
    for string, notes in groupby(motif.notes, key=lambda note: note.place.string):
        frets = ", ".join(spoken_fret(instrument, note.place) for note in notes)
        strings.append(f"{spoken_ordinal(string)} string: {frets}")
    return "; ".join(strings)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]

"""Chords: a root, a kind, alterations and a bass note.

The kinds are those of MusicXML 4.0 (``kind-value``), so every chord can be exchanged; a kind is a row of
degrees over the root. How chords are read from text stands in ``chord_symbol`` and ``harte``.
Note that MusicXML's ``major-minor`` is the minor triad with a major seventh.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordKind:
    """id: MusicXML kind-value; suffix: how this program writes it after the root; degrees: from the root up."""

    id: str
    suffix: str
    name: str
    degrees: tuple[Degree, ...]


def _kind(id_: str, suffix: str, name: str, formula: str) -> ChordKind:
    return ChordKind(id=id_, suffix=suffix, name=name, degrees=tuple(Degree.parse(word) for word in formula.split()))


_TABLE = (
    ("major", "", "major", "1 3 5"),
    ("minor", "m", "minor", "1 b3 5"),
    ("augmented", "aug", "augmented", "1 3 #5"),
    ("diminished", "dim", "diminished", "1 b3 b5"),
    ("dominant", "7", "seventh", "1 3 5 b7"),
    ("major-seventh", "maj7", "major seventh", "1 3 5 7"),
    ("minor-seventh", "m7", "minor seventh", "1 b3 5 b7"),
    ("diminished-seventh", "dim7", "diminished seventh", "1 b3 b5 bb7"),
    ("augmented-seventh", "aug7", "augmented seventh", "1 3 #5 b7"),
    ("half-diminished", "m7b5", "half-diminished", "1 b3 b5 b7"),
    ("major-minor", "m(maj7)", "minor with major seventh", "1 b3 5 7"),
    ("major-sixth", "6", "sixth", "1 3 5 6"),
    ("minor-sixth", "m6", "minor sixth", "1 b3 5 6"),
    ("dominant-ninth", "9", "ninth", "1 3 5 b7 9"),
    ("major-ninth", "maj9", "major ninth", "1 3 5 7 9"),
    ("minor-ninth", "m9", "minor ninth", "1 b3 5 b7 9"),
    ("dominant-11th", "11", "eleventh", "1 3 5 b7 9 11"),
    ("major-11th", "maj11", "major eleventh", "1 3 5 7 9 11"),
    ("minor-11th", "m11", "minor eleventh", "1 b3 5 b7 9 11"),
    ("dominant-13th", "13", "thirteenth", "1 3 5 b7 9 11 13"),
    ("major-13th", "maj13", "major thirteenth", "1 3 5 7 9 11 13"),
    ("minor-13th", "m13", "minor thirteenth", "1 b3 5 b7 9 11 13"),
    ("suspended-second", "sus2", "suspended second", "1 2 5"),
    ("suspended-fourth", "sus4", "suspended fourth", "1 4 5"),
    ("Neapolitan", "N6", "Neapolitan", "1 3 5"),
    ("Italian", "It6", "Italian sixth", "1 3 #6"),
    ("French", "Fr6", "French sixth", "1 3 #4 #6"),
    ("German", "Ger6", "German sixth", "1 3 5 #6"),
    ("pedal", "ped", "pedal", "1"),
    ("power", "5", "power chord", "1 5"),
    ("Tristan", "Tristan", "Tristan", "1 #4 #6 #9"),
)
CHORD_KINDS = {row[0]: _kind(*row) for row in _TABLE}


class Action(StrEnum):
    """What an alteration does to the kind's degrees (the MusicXML degree types)."""

    ADD = "add"
    ALTER = "alter"
    SUBTRACT = "subtract"


@dataclass(frozen=True, slots=True)
class Alteration:
    """One change to a chord kind: ``alter b5``, ``add 9``, ``subtract 3``."""

    action: Action
    degree: Degree


@dataclass(frozen=True, slots=True, kw_only=True)
class Chord:
    """A chord on a root. bass: the slash bass when it is not the root."""

    root: NoteName
    kind: ChordKind
    alterations: tuple[Alteration, ...] = ()
    bass: NoteName | None = None

    @property
    def degrees(self) -> tuple[Degree, ...]:
        """Degrees that sound above the root, after alterations, in stacking order."""
        degrees = list(self.kind.degrees)
        for change in self.alterations:
            same = [degree for degree in degrees if degree.number == change.degree.number]
            if change.action is Action.ADD:
                degrees.append(change.degree)
                continue
            for degree in same:
                degrees.remove(degree)
            if change.action is Action.ALTER:
                degrees.append(change.degree)
        return tuple(sorted(set(degrees), key=lambda degree: (degree.number, degree.alter)))

    @property
    def tones(self) -> tuple[NoteName, ...]:
        """Spelled tones from the root up (the slash bass is not among them unless it is a chord tone)."""
        return tuple(degree.above(self.root) for degree in self.degrees)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes that sound, slash bass included."""
        bass = frozenset() if self.bass is None else frozenset({self.bass.pitch_class})
        return frozenset(tone.pitch_class for tone in self.tones) | bass

    def degree_of(self, pitch_class: int) -> Degree | None:
        """The chord degree that sounds as this pitch class, None when it is not a chord tone."""
        return next(
            (degree for degree in self.degrees if degree.above(self.root).pitch_class == pitch_class % 12), None
        )

    @property
    def symbol(self) -> str:
        """ASCII chart spelling, e.g. ``F#m7b5/C``."""
        bass = "" if self.bass is None else f"/{self.bass}"
        return f"{self.root}{self.kind.suffix}{_in_brackets([_word(c, str(c.degree)) for c in self.alterations])}{bass}"

    @property
    def printed(self) -> str:
        """For people: with real accidental signs."""
        bass = "" if self.bass is None else f"/{self.bass.printed}"
        suffix = self.kind.suffix.replace("b5", "♭5")
        words = [_word(change, change.degree.printed) for change in self.alterations]
        return f"{self.root.printed}{suffix}{_in_brackets(words)}{bass}"

    def __str__(self) -> str:
        return self.symbol


def _word(change: Alteration, degree: str) -> str:
    if change.action is Action.SUBTRACT:
        return f"no{degree}"
    return degree if change.action is Action.ALTER or change.degree.alter else f"add{degree}"


def _in_brackets(words: list[str]) -> str:
    return f"({','.join(words)})" if words else ""

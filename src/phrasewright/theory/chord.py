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
_FUNCTIONAL = frozenset({"Neapolitan", "Italian", "French", "German", "pedal", "Tristan"})
# own kind, a tone it has gained, a tone it has lost (or none), the kind that says so
_BETTER_SAID = (
    ("minor-seventh", "b5", "5", "half-diminished"),
    ("dominant", "#5", "5", "augmented-seventh"),
    ("major", "#5", "5", "augmented"),
    ("minor", "b5", "5", "diminished"),
    ("dominant", "9", "", "dominant-ninth"),
    ("minor-seventh", "9", "", "minor-ninth"),
    ("major-seventh", "9", "", "major-ninth"),
)


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


def _adding(words: str) -> tuple[Alteration, ...]:
    return tuple(Alteration(Action.ADD, Degree.parse(word)) for word in words.split())


# Kinds with alterations that charts write in one word (common practice).
_SPELLINGS: dict[tuple[str, tuple[Alteration, ...]], str] = {
    ("major", _adding("9")): "add9",
    ("major-sixth", _adding("9")): "69",
    ("minor-sixth", _adding("9")): "m69",
    ("major-minor", _adding("9")): "m(maj9)",
    ("augmented-seventh", _adding("9")): "aug9",
    ("suspended-fourth", _adding("b7")): "7sus4",
    ("suspended-fourth", _adding("b7 9")): "9sus4",
    ("suspended-fourth", _adding("b7 9 13")): "13sus4",
    ("suspended-fourth", _adding("7")): "maj7sus4",
    ("suspended-second", _adding("b7")): "7sus2",
    ("suspended-second", _adding("7")): "maj7sus2",
    ("dominant", (Alteration(Action.SUBTRACT, Degree(5)), *_adding("b9 #9 #11 b13"))): "7alt",
}


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
        suffix, rest = self._suffix()
        return f"{self.root}{suffix}{_in_brackets([self._word(change, str(change.degree)) for change in rest])}{bass}"

    @property
    def printed(self) -> str:
        """For people: with real accidental signs."""
        bass = "" if self.bass is None else f"/{self.bass.printed}"
        suffix, rest = self._suffix()
        words = [self._word(change, change.degree.printed) for change in rest]
        return f"{self.root.printed}{suffix.replace('b5', '♭5')}{_in_brackets(words)}{bass}"

    def __str__(self) -> str:
        return self.symbol

    def _suffix(self) -> tuple[str, tuple[Alteration, ...]]:
        """What follows the root, and the alterations it does not say yet."""
        for length in range(len(self.alterations), 0, -1):
            said, rest = self.alterations[:length], self.alterations[length:]
            suffix = _SPELLINGS.get((self.kind.id, said))
            numbers = {change.degree.number for change in said}
            if suffix is not None and all(change.degree.number not in numbers for change in rest):
                return suffix, rest
        return self.kind.suffix, self.alterations

    def _word(self, change: Alteration, degree: str) -> str:
        if change.action is Action.SUBTRACT:
            return f"no{degree}"
        if change.action is Action.ALTER:
            return degree
        own = [has for has in self.kind.degrees if has.number == change.degree.number]
        still_sounds = any(has in self.degrees for has in own)
        return degree if change.degree.alter and not still_sounds else f"add{degree}"


def tidy_chord(root: NoteName, kind: ChordKind, degrees: tuple[Degree, ...], bass: NoteName | None = None) -> Chord:
    """The chord with these degrees, said the one way its symbol is read back.

    kind: what the chord is called; the result keeps it unless another kind says the same plainly (a minor
    seventh with b5 is half-diminished, a major triad without its third a power chord). A bass equal to the root
    is dropped. Alterations come in the order of their degrees.
    """
    wanted = frozenset(degrees)
    kind = _plain_kind(kind, wanted)
    changes: list[Alteration] = []
    for number in range(1, 16):
        has = {degree for degree in kind.degrees if degree.number == number}
        sounding = sorted(degree for degree in wanted if degree.number == number)
        if has <= wanted:
            changes += [Alteration(Action.ADD, degree) for degree in sounding if degree not in has]
        elif not any(degree.alter for degree in sounding):
            changes += [Alteration(Action.SUBTRACT, degree) for degree in has]
            changes += [Alteration(Action.ADD, degree) for degree in sounding]
        else:
            sounding.sort(key=lambda degree: degree.alter == 0)
            changes.append(Alteration(Action.ALTER, sounding[0]))
            changes += [Alteration(Action.ADD, degree) for degree in sounding[1:]]
    return Chord(root=root, kind=kind, alterations=tuple(changes), bass=None if bass == root else bass)


def _plain_kind(kind: ChordKind, wanted: frozenset[Degree]) -> ChordKind:
    if frozenset(kind.degrees) == wanted:
        return kind
    for other in CHORD_KINDS.values():
        if frozenset(other.degrees) == wanted and other.id not in _FUNCTIONAL:
            return other
    for own, gained, lost, better in _BETTER_SAID:
        has_lost = not lost or Degree.parse(lost) not in wanted
        if kind.id == own and Degree.parse(gained) in wanted and has_lost:
            return CHORD_KINDS[better]
    return kind


def _in_brackets(words: list[str]) -> str:
    return f"({','.join(words)})" if words else ""

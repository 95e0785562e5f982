"""Chord symbols as charts write them.

A symbol is a root, a triad word, an extension, changes, and a slash bass, in any usual spelling::

    C   Cm  C-  Cmin   CM7  Cmaj7  C△   C7  C13   C6  C6/9   C°7  Cø  C+7   C7sus4   Cadd9   Cm(maj7)
    C7b9   C7(#9,b13)   C7alt   Cmaj7#11   C/E   C7(no5)   C69/E

The Weimar Jazz Database's dialect is read too: ``j7`` is a major seventh and accidentals follow the numbers of a
row that begins with 7 (``A79b``, ``Bbj7911#``). Conventions where spellings differ (common practice): a triangle
alone is a major seventh; ``alt`` is 1 3 b7 with b9 #9 #11 b13; ``sus`` alone is ``sus4``; 13 chords have all
the thirds below (a player leaves some out). ``C2`` and ``C4`` are refused because charts disagree about them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import get_close_matches

from phrasewright.theory.chord import CHORD_KINDS, Chord, tidy_chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName

NO_CHORD = "N.C."
_NO_CHORD_WORDS = frozenset({"NC", "N.C.", "N.C", "N", "n.c.", "nc", "no chord"})
_ROOT = re.compile(r"[A-G](?:##|#|♯♯|♯|x|𝄪|bb|b|♭♭|♭|𝄫|♮)?")
_BASS = re.compile(r"/\s*([A-G](?:##|#|♯♯|♯|x|𝄪|bb|b|♭♭|♭|𝄫|♮)?)\s*[)\]]*\s*$")
_SIGN = r"(?:##|#|♯♯|♯|bb|b|♭♭|♭|♮)"
_DEGREE_NUMBER = r"(1[0-5]|[1-9])"

_MINOR = r"minor|min|MIN|Min|mi|MI|Mi|m(?!aj|a(?!dd)|j)|-|−|–"
_MAJOR = r"major|maj|MAJ|Maj|ma(?!dd)|MA(?!DD)|Ma(?!dd)|M(?!I)|△|Δ|∆|j"
_TRIANGLES = frozenset("△Δ∆j")
_TRIADS = (
    ("half-diminished", re.compile(rf"ø|Ø|hdim|(?:{_MINOR})7\s*[(\[]?(?:b|♭|-)5")),
    ("diminished", re.compile(r"dim|DIM|Dim|°|º|o(?!mit)")),
    ("augmented", re.compile(r"aug|AUG|Aug|\+")),
    ("minor", re.compile(_MINOR)),
)
_WHOLE_WORDS = {
    kind.suffix: kind for kind in CHORD_KINDS.values() if kind.suffix in {"N6", "It6", "Fr6", "Ger6", "ped", "Tristan"}
}
_WHOLE = re.compile("|".join(_WHOLE_WORDS))
_POWER = re.compile(r"5(?!\d)")
_MAJOR_WORD = re.compile(_MAJOR)
_DOMINANT = re.compile(r"dom(?=\d)|dominant(?=\s*\d)")
_OPENING = re.compile(r"[\s(\[]*")
_NINTH = re.compile(r"\s*/?\s*9")
_MAJOR_SEVENTH = re.compile(rf"(?:{_MAJOR})7")
_EXTENSION = re.compile(r"13|11|9|7|6")
_ROW = re.compile(rf"(13|11|9)({_SIGN}?)")

_ADD = re.compile(rf"(?:add|ADD|Add)\s*({_SIGN}?){_DEGREE_NUMBER}")
_OMIT = re.compile(rf"(?:no|omit|OMIT|NO|No)\s*({_SIGN}?){_DEGREE_NUMBER}(?:rd|th|st|nd)?")
_SUS = re.compile(r"(?:sus|SUS|Sus)\s*(2sus4|24|42|4|2|(?=13|11|9|7)|)")
_ALT = re.compile(r"alt|ALT|Alt")
_CHANGE = re.compile(rf"({_SIGN}|\+|-|−|–){_DEGREE_NUMBER}")
_RAISED_FIFTH = re.compile(r"\+(?!\d)")
_NUMBER = re.compile(r"13|11|9|6")
_SLASH_NUMBER = re.compile(r"/\s*(13|11|9)")
_SEPARATOR = re.compile(r"[\s,;()\[\]]+")

_STACK = {"6": "6", "7": "7", "9": "7 9", "11": "7 9 11", "13": "7 9 11 13"}
_TRIAD_DEGREES = {
    "major": "1 3 5",
    "minor": "1 b3 5",
    "augmented": "1 3 #5",
    "diminished": "1 b3 b5",
    "half-diminished": "1 b3 b5 b7",
}
_SEVENTH = {
    "major": Degree(7, -1),
    "minor": Degree(7, -1),
    "augmented": Degree(7, -1),
    "diminished": Degree(7, -2),
    "half-diminished": Degree(7, -1),
}
_ALTERED = tuple(Degree.parse(word) for word in ("b9", "#9", "#11", "b13"))
_GUESSES = (
    *(kind.suffix for kind in CHORD_KINDS.values() if kind.suffix and kind.suffix not in _WHOLE_WORDS),
    *("69", "m69", "7sus4", "9sus4", "13sus4", "add9", "m(add9)", "7b9", "7#9", "7b5", "maj7#11", "7alt"),
)


class ChordSymbolError(ValueError):
    """A chord symbol that cannot be read. column: 0-based, where reading stopped; hint: how to mend it, or empty."""

    def __init__(self, message: str, column: int, hint: str = "") -> None:
        super().__init__(message)
        self.column = column
        self.hint = hint


def parse_chord(text: str) -> Chord:
    """Read a chord symbol. Raises ChordSymbolError, also for ``N.C.`` (see ``parse_optional_chord``)."""
    start = len(text) - len(text.lstrip())
    if not text.strip():
        raise ChordSymbolError("a chord symbol is missing", 0, f"write {NO_CHORD} where no chord sounds")
    if is_no_chord(text):
        raise ChordSymbolError(f"{text.strip()!r} means no chord, but a chord is needed here", start)
    return _Reader(text, start).read()


def parse_optional_chord(text: str) -> Chord | None:
    """Read a chord symbol; None for ``N.C.`` and its usual spellings. Raises ChordSymbolError otherwise."""
    return None if is_no_chord(text) else parse_chord(text)


def is_no_chord(text: str) -> bool:
    """Whether a chart's word says that no chord sounds (``N.C.``, ``NC``)."""
    return text.strip().strip("()") in _NO_CHORD_WORDS


@dataclass(slots=True)
class _Reader:
    """Walks a symbol from left to right, gathering degrees; named: those that stand before the first change."""

    text: str
    at: int
    triad: str = "major"
    major_seventh: bool = False
    extension: str = ""
    degrees: set[Degree] = field(default_factory=set)
    named: set[Degree] = field(default_factory=set)
    shown: str = ""
    kind_id: str = ""

    def read(self) -> Chord:
        end = len(self.text.rstrip())
        self.shown = self.text.strip()
        if self.text[self.at] == "(" and self.text[end - 1] == ")":
            self.at, end = self.at + 1, end - 1
        self._check_brackets(self.text[self.at : end])
        root = self._root()
        bass = self._bass(end)
        whole = self._take(_WHOLE)
        if whole or self._take(_POWER):
            self.kind_id = _WHOLE_WORDS[whole[0]].id if whole else "power"
            self.degrees = set(CHORD_KINDS[self.kind_id].degrees)
        else:
            self._name()
            self.kind_id = self._named_kind()
        self.named = set(self.degrees)
        while self._skip_separators():
            self._change()
        return self._chord(root, bass)

    def _chord(self, root: NoteName, bass: NoteName | None) -> Chord:
        chord = tidy_chord(root, CHORD_KINDS[self.kind_id], tuple(self.degrees), bass)
        try:
            _ = chord.tones
        except ValueError:
            raise ChordSymbolError(
                f"the tones of {self.shown!r} would need more than three accidentals",
                0,
                "write the root with fewer sharps or flats",
            ) from None
        return chord

    # -- the parts of a symbol

    def _root(self) -> NoteName:
        match = self._take(_ROOT)
        if match is None:
            raise self._no_root()
        return NoteName.parse(match[0])

    def _no_root(self) -> ChordSymbolError:
        letter = self.text[self.at]
        hint = "begin with the root, a capital letter from A to G"
        if letter in "abcdefg":
            hint = f"did you mean {letter.upper()}{self.text[self.at + 1 :].strip()}?"
        elif letter in "Hh":
            hint = "write B for the note a semitone below C, Bb for the one below that"
        return ChordSymbolError(f"{self.shown!r} does not begin with a note name", self.at, hint)

    def _bass(self, end: int) -> NoteName | None:
        match = _BASS.search(self.text, self.at)
        if match is None:
            self.text = self.text[:end]
            return None
        self.text = self.text[: match.start()]
        return NoteName.parse(match[1])

    def _name(self) -> None:
        """Triad word and extension: what stands before the changes."""
        if not self._take(_DOMINANT):
            major = self._take(_MAJOR_WORD)
            if major:
                self._major_extension(major[0])
                return
            for triad, pattern in _TRIADS:
                if self._take(pattern):
                    self.triad = triad
                    break
        if self.triad != "major" and self._major_after_triad():
            return
        extension = self._take(_EXTENSION)
        self._stack(extension[0] if extension else "")

    def _major_after_triad(self) -> bool:
        """``m(maj7)``, ``-j7``, ``+M7``: a major seventh named after the triad."""
        here = self.at
        self._take(_OPENING)
        word = self._take(_MAJOR_WORD)
        if word is None:
            self.at = here
            return False
        self._major_extension(word[0])
        return True

    def _major_extension(self, word: str) -> None:
        extension = self._take(_EXTENSION)
        number = extension[0] if extension else ("7" if word in _TRIANGLES or self.triad != "major" else "")
        self.major_seventh = number not in ("", "6")
        self._stack(number)

    def _stack(self, number: str) -> None:
        """Put the triad and the thirds up to the extension."""
        self.extension = number
        self.degrees = {Degree.parse(word) for word in _TRIAD_DEGREES[self.triad].split()}
        for word in _STACK.get(number, "").split():
            self.degrees.add(Degree(int(word)))
        if Degree(7) in self.degrees and not self.major_seventh:
            self.degrees = self.degrees - {Degree(7)} | {_SEVENTH[self.triad]}
        if number in ("6", "7"):
            self._row(number)

    def _row(self, number: str) -> None:
        """The numbers of ``69`` and of the row dialect ``79b13``: accidentals stand behind them."""
        if number == "6" and self._take(_NINTH):
            self.degrees.add(Degree(9))
        while match := self._take(_ROW):
            self.degrees.add(Degree.parse(match[2] + match[1]))

    def _named_kind(self) -> str:
        """The kind that the triad word and extension name, before any change."""
        found = tidy_chord(NoteName("C"), CHORD_KINDS["major"], tuple(self.degrees))
        return found.kind.id if not found.alterations else self._nearest_kind()

    def _nearest_kind(self) -> str:
        names = {
            "major": "dominant" if Degree(7, -1) in self.degrees else "major",
            "minor": "minor-seventh" if Degree(7, -1) in self.degrees else "minor",
            "augmented": "augmented-seventh" if Degree(7, -1) in self.degrees else "augmented",
            "diminished": "diminished-seventh" if Degree(7, -2) in self.degrees else "diminished",
            "half-diminished": "half-diminished",
        }
        if self.extension == "6":
            return "minor-sixth" if self.triad == "minor" else "major-sixth"
        if self.major_seventh:
            major = {"major": "major-seventh", "minor": "major-minor", "augmented": "major-seventh"}
            return major.get(self.triad, names[self.triad])
        return names[self.triad]

    # -- the changes behind the name

    def _change(self) -> None:
        if match := self._take(_ADD):
            self.degrees.add(self._degree(match))
        elif match := self._take(_OMIT):
            self._omit(match)
        elif match := self._take(_SUS):
            self._suspend(match[1] or "4")
        elif self._take(_ALT):
            self._alter_all()
        elif match := self._take(_CHANGE):
            self._replace(self._degree(match))
        elif self._take(_RAISED_FIFTH):
            self._replace(Degree(5, 1))
        elif self._major_after_triad_change():
            return
        elif match := self._take(_SLASH_NUMBER) or self._number_in_brackets():
            self.degrees.add(Degree(int(match[match.lastindex or 0])))
        else:
            raise self._unknown()

    def _major_after_triad_change(self) -> bool:
        match = self._take(_MAJOR_SEVENTH)
        if match is None:
            return False
        self.degrees.add(Degree(7))
        return True

    def _number_in_brackets(self) -> re.Match[str] | None:
        before = self.text[: self.at].rstrip()
        return self._take(_NUMBER) if before.endswith(("(", "[", ",", ";")) else None

    def _omit(self, match: re.Match[str]) -> None:
        number = int(match[2])
        gone = {degree for degree in self.degrees if degree.number == number}
        if not gone:
            raise ChordSymbolError(
                f"there is no {number} to leave out in {self.shown!r}", match.start(), f"drop {match[0]!r}"
            )
        self.degrees -= gone

    def _suspend(self, number: str) -> None:
        before = self.degrees
        self.degrees = {degree for degree in before if degree.number not in (3, 11)}
        self.kind_id = "suspended-second" if number == "2" else "suspended-fourth"
        self.degrees |= {Degree(4)} if number == "4" else {Degree(2)} if number == "2" else {Degree(2), Degree(4)}
        extension = self._take(_EXTENSION) if number == "4" else None
        if extension:
            self.degrees |= {Degree(int(word)) for word in _STACK[extension[0]].split() if word not in ("7", "11")}
            self.degrees |= {Degree(7, -1)} if extension[0] != "6" else set()
            self._row(extension[0])
        self.named |= self.degrees - before

    def _alter_all(self) -> None:
        self.degrees = {degree for degree in self.degrees if degree.number not in (5, 9, 11, 13)}
        self.degrees |= {Degree(7, -1), *_ALTERED}
        self.kind_id = "dominant" if self.kind_id == "major" else self.kind_id

    def _degree(self, match: re.Match[str]) -> Degree:
        sign = {"+": "#", "-": "b", "−": "b", "–": "b", "♮": ""}.get(match[1], match[1])
        return Degree.parse(sign + match[2])

    def _replace(self, degree: Degree) -> None:
        """``b5`` moves the fifth that the name has; a second change to the same number stands beside the first."""
        self.degrees -= {other for other in self.named if other.number == degree.number and other != degree}
        self.named = {other for other in self.named if other.number != degree.number}
        self.degrees.add(degree)

    # -- reading

    def _take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        match = pattern.match(self.text, self.at)
        if match:
            self.at = match.end()
        return match

    def _skip_separators(self) -> bool:
        self._take(_SEPARATOR)
        return self.at < len(self.text)

    def _check_brackets(self, inner: str) -> None:
        inner_at = self.at + max(inner.find("("), inner.find("["), 0)
        if inner.count("(") != inner.count(")") or inner.count("[") != inner.count("]"):
            raise ChordSymbolError(f"a bracket is left open in {self.shown!r}", inner_at, "close it or drop it")

    def _unknown(self) -> ChordSymbolError:
        rest = self.text[self.at :].strip()
        return ChordSymbolError(f"cannot read {rest!r} in the chord {self.shown!r}", self.at, _hint(self.shown))


def _hint(text: str) -> str:
    root = _ROOT.match(text)
    if root is None:
        return ""
    suffix = text[root.end() :]
    if suffix in ("2", "4"):
        return f"did you mean {root[0]}sus{suffix} or {root[0]}add{9 if suffix == '2' else 11}?"
    close = get_close_matches(suffix, _GUESSES, n=1, cutoff=0.5)
    if close:
        return f"did you mean {root[0]}{close[0]}?"
    return f"write it like {root[0]}7, {root[0]}m7, {root[0]}maj7 or {root[0]}7sus4"

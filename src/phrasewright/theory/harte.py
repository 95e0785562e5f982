"""Chord labels in Harte's syntax, the one that annotated recordings use.

``root:shorthand(degrees)/bass``: degrees in brackets are added, a star takes one away, the bass is a degree over the
root (``E:7(#9,*5)/3``). ``N`` means no chord and ``X`` one that could not be named; both are None here.
Source: Harte, Sandler, Abdallah, Gomez, "Symbolic representation of musical chords" (ISMIR 2005). The extended
shorthands stack thirds as mir_eval 0.8 has them (``#11`` holds a ninth, ``b13`` a ninth and an eleventh).
"""

from __future__ import annotations

import re

from phrasewright.theory.chord import CHORD_KINDS, Chord, tidy_chord
from phrasewright.theory.chord_symbol import ChordSymbolError
from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import LETTERS, NoteName, accidental_text

_LABEL = re.compile(r"([A-G])(#*|b*)(?::([^()/]*)(?:\(([^()]*)\))?)?(?:/(.+))?")
_DEGREE = re.compile(r"(#*|b*)(\d+)")

# shorthand, MusicXML kind, degrees that take the place of the kind's own of the same number
_TABLE = (
    ("maj", "major", ""),
    ("min", "minor", ""),
    ("aug", "augmented", ""),
    ("dim", "diminished", ""),
    ("sus4", "suspended-fourth", ""),
    ("sus2", "suspended-second", ""),
    ("7", "dominant", ""),
    ("maj7", "major-seventh", ""),
    ("min7", "minor-seventh", ""),
    ("minmaj7", "major-minor", ""),
    ("maj6", "major-sixth", ""),
    ("min6", "minor-sixth", ""),
    ("dim7", "diminished-seventh", ""),
    ("hdim7", "half-diminished", ""),
    ("9", "dominant-ninth", ""),
    ("maj9", "major-ninth", ""),
    ("min9", "minor-ninth", ""),
    ("11", "dominant-11th", ""),
    ("min11", "minor-11th", ""),
    ("13", "dominant-13th", ""),
    ("maj13", "major-13th", ""),
    ("min13", "minor-13th", ""),
    ("1", "pedal", ""),
    ("5", "power", ""),
    ("b9", "dominant-ninth", "b9"),
    ("#9", "dominant-ninth", "#9"),
    ("#11", "dominant-11th", "#11"),
    ("b13", "dominant-13th", "b13"),
)


def _degrees(kind: str, changed: str) -> tuple[Degree, ...]:
    instead = tuple(Degree.parse(word) for word in changed.split())
    numbers = {degree.number for degree in instead}
    return tuple(degree for degree in CHORD_KINDS[kind].degrees if degree.number not in numbers) + instead


HARTE_SHORTHANDS = {row[0]: _degrees(row[1], row[2]) for row in _TABLE}
_KIND_OF = {row[0]: row[1] for row in _TABLE}
_SHORTHAND_OF = {row[1]: row[0] for row in _TABLE if not row[2]}


def parse_harte(label: str) -> Chord | None:
    """Read a Harte label; None for ``N`` and ``X``. Raises ChordSymbolError (with the column) on anything else."""
    text = label.strip()
    if text in ("N", "X"):
        return None
    match = _LABEL.fullmatch(text)
    if match is None:
        raise ChordSymbolError(f"not a chord label: {label!r}", 0, "write it like E:min7 or A:7(#9)/3")
    root = _name(match[1], match[2], label)
    degrees, kind = _named(match, label)
    for word in match[4].split(",") if match[4] is not None else ():
        degrees = _changed(degrees, word.strip(), label, match.start(4))
    bass = None if match[5] is None else _above(_degree(match[5], label, match.start(5)), root, label)
    return tidy_chord(root, CHORD_KINDS[kind], tuple(degrees), bass)


def harte_label(chord: Chord | None) -> str:
    """Write a chord as a Harte label; ``N`` for None. Reading it back gives the same root, degrees and bass."""
    if chord is None:
        return "N"
    sounding = set(chord.degrees)
    shorthand = _SHORTHAND_OF.get(chord.kind.id) or min(
        HARTE_SHORTHANDS, key=lambda name: len(sounding ^ set(HARTE_SHORTHANDS[name]))
    )
    implied = set(HARTE_SHORTHANDS[shorthand])
    words = [str(degree) for degree in sorted(sounding - implied)]
    words += [f"*{degree}" for degree in sorted(implied - sounding)]
    bass = "" if chord.bass is None else f"/{_degree_between(chord.root, chord.bass)}"
    return f"{chord.root}:{shorthand}{'(' + ','.join(words) + ')' if words else ''}{bass}"


def _named(match: re.Match[str], label: str) -> tuple[set[Degree], str]:
    """Degrees and kind of the shorthand; a list of degrees alone is named by the kind that lies nearest."""
    shorthand = match[3]
    if not shorthand and match[4] is not None:
        wanted = {_degree(word.strip(), label, match.start(4)) for word in match[4].split(",") if "*" not in word}
        wanted.add(Degree(1))
        nearest = min(HARTE_SHORTHANDS, key=lambda name: len(wanted ^ set(HARTE_SHORTHANDS[name])))
        return wanted, _KIND_OF[nearest]
    shorthand = "maj" if shorthand is None else shorthand
    if shorthand not in HARTE_SHORTHANDS:
        raise ChordSymbolError(
            f"unknown chord shorthand {shorthand!r} in {label!r}", match.start(3), "write maj, min, 7, min7, hdim7 ..."
        )
    return set(HARTE_SHORTHANDS[shorthand]), _KIND_OF[shorthand]


def _changed(degrees: set[Degree], word: str, label: str, column: int) -> set[Degree]:
    if word.startswith("*"):
        return degrees - {_degree(word[1:], label, column)}
    return degrees | {_degree(word, label, column)}


def _degree(word: str, label: str, column: int) -> Degree:
    match = _DEGREE.fullmatch(word)
    if match is None or not 1 <= int(match[2]) <= 15:
        raise ChordSymbolError(f"not a degree: {word!r} in {label!r}", column, "degrees are 1 to 13, such as b7 or #11")
    return Degree(int(match[2]), _alter(match[1]))


def _alter(signs: str) -> int:
    return -len(signs) if signs.startswith("b") else len(signs)


def _name(letter: str, signs: str, label: str) -> NoteName:
    if len(signs) > 2:
        raise ChordSymbolError(f"too many accidentals on the root of {label!r}", 1, "write the root more simply")
    return NoteName(letter, _alter(signs))


def _above(degree: Degree, root: NoteName, label: str) -> NoteName:
    try:
        return degree.above(root)
    except ValueError:
        raise ChordSymbolError(
            f"the bass of {label!r} cannot be spelled", label.rindex("/") + 1, "write it more simply"
        ) from None


def _degree_between(root: NoteName, bass: NoteName) -> str:
    steps = (LETTERS.index(bass.letter) - LETTERS.index(root.letter)) % 7
    natural = Degree(steps + 1).above(NoteName(root.letter))
    return f"{accidental_text(bass.alter - natural.alter - root.alter)}{steps + 1}"

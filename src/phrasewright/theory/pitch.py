"""Spelled notes: a letter with accidentals, with and without an octave.

A ``NoteName`` is a pitch class as written (F sharp is not G flat); a ``Pitch`` adds the octave of
scientific pitch notation (C4 = middle C = MIDI 60). Both say what sounds, never what is fingered.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import total_ordering

LETTERS = "CDEFGAB"
LETTER_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
LETTER_FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}  # places on the line of fifths, C = 0
_ACCIDENTALS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "##": 2, "x": 2, "𝄪": 2, "bb": -2, "𝄫": -2, "♮": 0}
_ACCIDENTALS |= {"♯♯": 2, "♭♭": -2, "###": 3, "bbb": -3, "♯♯♯": 3, "♭♭♭": -3}
_NAME = re.compile(r"([A-Ga-g])(###|##|#|♯♯♯|♯♯|♯|x|𝄪|bbb|bb|b|♭♭♭|♭♭|♭|𝄫|♮|)")


def accidental_text(alter: int) -> str:
    """ASCII accidental: ``#``, ``b``, ``##`` ... or nothing."""
    return "#" * alter if alter >= 0 else "b" * -alter


def accidental_sign(alter: int) -> str:
    """Printed accidental: ``♯``, ``♭``, ``♯♯`` ... or nothing."""
    return "♯" * alter if alter >= 0 else "♭" * -alter


@dataclass(frozen=True, slots=True)
class NoteName:
    """A spelled pitch class, e.g. ``NoteName("F", 1)`` for F sharp. alter: semitones, -3..3."""

    letter: str
    alter: int = 0

    def __post_init__(self) -> None:
        if self.letter not in LETTERS or len(self.letter) != 1:
            raise ValueError(f"letter must be one of {LETTERS}, got {self.letter!r}")
        if not -3 <= self.alter <= 3:
            raise ValueError(f"alter must lie in -3..3, got {self.alter}")

    @classmethod
    def parse(cls, text: str) -> NoteName:
        """Read ``F#``, ``Bb``, ``E♭``, ``cx`` ... Raises ValueError on anything else."""
        match = _NAME.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"not a note name: {text!r}")
        return cls(match[1].upper(), _ACCIDENTALS[match[2]])

    @classmethod
    def at_fifths(cls, fifths: int) -> NoteName:
        """The name at a place on the line of fifths (C = 0, G = 1, F = -1, ...)."""
        alter, place = divmod(fifths + 1, 7)
        return cls("FCGDAEB"[place], alter)

    @property
    def pitch_class(self) -> int:
        """Semitones above C, 0..11."""
        return (LETTER_SEMITONES[self.letter] + self.alter) % 12

    @property
    def fifths(self) -> int:
        """Place on the line of fifths (C = 0, G = 1, F = -1, ...)."""
        return LETTER_FIFTHS[self.letter] + 7 * self.alter

    @property
    def printed(self) -> str:
        """For people: with real accidental signs."""
        return self.letter + accidental_sign(self.alter)

    def __str__(self) -> str:
        return self.letter + accidental_text(self.alter)


@total_ordering
@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled, sounding pitch. octave: scientific (C4 = middle C); B#3 and C4 both sound MIDI 60."""

    name: NoteName
    octave: int

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read ``F#4``, ``Bb-1`` ... Raises ValueError on anything else."""
        match = re.fullmatch(r"(\D+?)(-?\d+)", text.strip())
        if match is None:
            raise ValueError(f"not a pitch: {text!r}")
        return cls(NoteName.parse(match[1]), int(match[2]))

    @classmethod
    def from_midi(cls, pitch_midi: int, name: NoteName) -> Pitch:
        """The pitch that sounds ``pitch_midi`` written as ``name``. Raises ValueError if the name cannot sound it."""
        if (pitch_midi - name.pitch_class) % 12:
            raise ValueError(f"{name} cannot be MIDI pitch {pitch_midi}")
        octave = (pitch_midi - LETTER_SEMITONES[name.letter] - name.alter) // 12 - 1
        return cls(name, octave)

    @property
    def midi(self) -> int:
        """MIDI note number, 60 = C4."""
        return 12 * (self.octave + 1) + LETTER_SEMITONES[self.name.letter] + self.name.alter

    @property
    def diatonic(self) -> int:
        """Staff steps above C0: 7 per octave, accidentals ignored."""
        return 7 * self.octave + LETTERS.index(self.name.letter)

    @property
    def printed(self) -> str:
        """For people: with real accidental signs."""
        return f"{self.name.printed}{self.octave}"

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"

    def __lt__(self, other: Pitch) -> bool:
        return (self.midi, self.diatonic) < (other.midi, other.diatonic)

"""Keys and their signatures.

Sharps enter a signature in the order F C G D A E B, flats the other way round (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from phrasewright.theory.pitch import NoteName


class Mode(StrEnum):
    """The two modes a key signature is named by."""

    MAJOR = "major"
    MINOR = "minor"


@dataclass(frozen=True, slots=True)
class Key:
    """A major or minor key, e.g. ``Key(NoteName("A"), Mode.MINOR)``."""

    tonic: NoteName
    mode: Mode

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) in the signature."""
        return self.tonic.fifths - (3 if self.mode is Mode.MINOR else 0)

    @classmethod
    def of_signature(cls, fifths: int, mode: Mode) -> Key:
        """The key of that mode with this signature."""
        return cls(NoteName.at_fifths(fifths + (3 if mode is Mode.MINOR else 0)), mode)

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode}"


def signature_alter(fifths: int, letter: str) -> int:
    """What a key signature does to a letter: -1, 0 or 1 (more beyond 7 sharps or flats)."""
    place = "FCGDAEB".index(letter)
    return (fifths - place + 6) // 7 if fifths >= 0 else -((-fifths - (6 - place) + 6) // 7)

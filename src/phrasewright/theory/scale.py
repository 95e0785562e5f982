"""Scales as degree formulas, spelled from their root.

A ``ScaleKind`` is a row of degrees; a ``Scale`` puts it on a root. Spelling follows the degrees, so F major
has a B flat and never an A sharp. Formulas: common practice; interval vectors checked against Forte, *The
Structure of Atonal Music* (1973) in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from phrasewright.theory.interval import Degree
from phrasewright.theory.pitch import NoteName


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleKind:
    """A scale formula. id: as lesson files write it; signature: key signature in fifths from the root's major."""

    id: str
    name: str
    degrees: tuple[Degree, ...]
    signature: int

    def __post_init__(self) -> None:
        semitones = [degree.interval.semitones for degree in self.degrees]
        if not semitones or semitones[0] != 0 or any(b <= a for a, b in pairwise(semitones)) or semitones[-1] > 11:
            raise ValueError(f"scale degrees must rise from 1 within one octave, got {self.formula}")

    @property
    def formula(self) -> str:
        """The degrees as text: ``1 b3 4 5 b7``."""
        return " ".join(str(degree) for degree in self.degrees)

    @property
    def semitones(self) -> tuple[int, ...]:
        """Semitones above the root, rising from 0."""
        return tuple(degree.interval.semitones for degree in self.degrees)


def _kind(id_: str, name: str, formula: str, signature: int) -> ScaleKind:
    return ScaleKind(
        id=id_, name=name, degrees=tuple(Degree.parse(word) for word in formula.split()), signature=signature
    )


# id, name, formula, key signature relative to major on the root (fifths: minor is -3, dorian -2, ...)
_TABLE = (
    ("minor-pentatonic", "minor pentatonic", "1 b3 4 5 b7", -3),
    ("major-pentatonic", "major pentatonic", "1 2 3 5 6", 0),
    ("blues", "blues", "1 b3 4 b5 5 b7", -3),
    ("major-blues", "major blues", "1 2 b3 3 5 6", 0),
    ("major", "major", "1 2 3 4 5 6 7", 0),
    ("dorian", "dorian", "1 2 b3 4 5 6 b7", -2),
    ("phrygian", "phrygian", "1 b2 b3 4 5 b6 b7", -4),
    ("lydian", "lydian", "1 2 3 #4 5 6 7", 1),
    ("mixolydian", "mixolydian", "1 2 3 4 5 6 b7", -1),
    ("minor", "natural minor", "1 2 b3 4 5 b6 b7", -3),
    ("locrian", "locrian", "1 b2 b3 4 b5 b6 b7", -5),
    ("harmonic-minor", "harmonic minor", "1 2 b3 4 5 b6 7", -3),
    ("locrian-natural-6", "locrian natural 6", "1 b2 b3 4 b5 6 b7", -5),
    ("ionian-sharp-5", "ionian sharp 5", "1 2 3 4 #5 6 7", 0),
    ("dorian-sharp-4", "dorian sharp 4", "1 2 b3 #4 5 6 b7", -2),
    ("phrygian-dominant", "phrygian dominant", "1 b2 3 4 5 b6 b7", -4),
    ("lydian-sharp-2", "lydian sharp 2", "1 #2 3 #4 5 6 7", 1),
    ("super-locrian-double-flat-7", "super locrian double flat 7", "1 b2 b3 b4 b5 b6 bb7", -5),
    ("melodic-minor", "melodic minor", "1 2 b3 4 5 6 7", -3),
    ("dorian-flat-2", "dorian flat 2", "1 b2 b3 4 5 6 b7", -2),
    ("lydian-augmented", "lydian augmented", "1 2 3 #4 #5 6 7", 1),
    ("lydian-dominant", "lydian dominant", "1 2 3 #4 5 6 b7", 0),
    ("mixolydian-flat-6", "mixolydian flat 6", "1 2 3 4 5 b6 b7", -1),
    ("locrian-natural-2", "locrian natural 2", "1 2 b3 4 b5 b6 b7", -4),
    ("altered", "altered", "1 b2 b3 b4 b5 b6 b7", -5),
    ("harmonic-major", "harmonic major", "1 2 3 4 5 b6 7", 0),
    ("bebop-dominant", "bebop dominant", "1 2 3 4 5 6 b7 7", -1),
    ("bebop-major", "bebop major", "1 2 3 4 5 b6 6 7", 0),
    ("diminished-whole-half", "diminished (whole-half)", "1 2 b3 4 b5 b6 6 7", -3),
    ("diminished-half-whole", "diminished (half-whole)", "1 b2 b3 3 #4 5 6 b7", -1),
    ("whole-tone", "whole tone", "1 2 3 #4 #5 b7", 0),
)
SCALE_KINDS = {row[0]: _kind(*row) for row in _TABLE}


def custom_scale_kind(degrees: tuple[Degree, ...]) -> ScaleKind:
    """A scale from its degrees; signature minor when it has b3 and no 3. Raises ValueError if it does not rise."""
    minor = Degree(3, -1) in degrees and Degree(3) not in degrees
    return ScaleKind(id="custom", name="custom scale", degrees=degrees, signature=-3 if minor else 0)


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale kind on a root."""

    root: NoteName
    kind: ScaleKind

    @property
    def notes(self) -> tuple[NoteName, ...]:
        """Spelled notes, rising from the root."""
        return tuple(degree.above(self.root) for degree in self.kind.degrees)

    def degree_at(self, pitch_midi: int) -> Degree | None:
        """The degree that sounds at a MIDI pitch in any octave, None outside the scale."""
        semitones = (pitch_midi - self.root.pitch_class) % 12
        return next((degree for degree in self.kind.degrees if degree.semitones == semitones), None)

    @property
    def signature_fifths(self) -> int:
        """Key signature for writing it: sharps positive, flats negative; beyond 7 the seven signs of its own side."""
        return min(max(self.root.fifths + self.kind.signature, -7), 7)

    @property
    def name(self) -> str:
        """For people: ``A minor pentatonic``."""
        return f"{self.root.printed} {self.kind.name}"

    def __str__(self) -> str:
        return f"{self.root} {self.kind.name}"

"""Names of heard pitches: as the chord spells them, else the scale, else with a sharp or flat as the scale leans."""

from __future__ import annotations

from phrasewright.theory.chord import Chord
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import Scale

_FIFTHS_ABOVE_C = (0, 7, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5)  # of each pitch class, spelled near C major
CIRCLE = 12


def pitch_of(pitch_midi: int, scale: Scale, chord: Chord | None = None) -> Pitch:
    """A sounding pitch with its name."""
    names = [*(chord.tones if chord is not None else ()), *scale.notes]
    known = next((name for name in names if name.pitch_class == pitch_midi % 12), None)
    return Pitch.from_midi(pitch_midi, known or _near(pitch_midi % 12, scale.signature_fifths))


def _near(pitch_class: int, signature_fifths: int) -> NoteName:
    """The name nearest to a key signature on the line of fifths."""
    fifths = _FIFTHS_ABOVE_C[pitch_class]
    middle = signature_fifths + 2  # the notes of a key lie from one below its signature to five above
    turns = round((middle - fifths) / CIRCLE)
    return NoteName.at_fifths(fifths + CIRCLE * turns)

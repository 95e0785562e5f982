"""The kit in MusicXML: where each piece stands on the staff, its head, and its General MIDI key.

Staff places and heads: common practice of drum-set notation. Keys: General MIDI percussion (docs/sources.md 2.3); the
ghost snare shares the snare's, shaker and click borrow maracas and high wood block.
"""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.score.model import Drum


@dataclass(frozen=True, slots=True)
class DrumMark:
    """step, octave: place on the staff as in treble clef; head: MusicXML notehead; key: General MIDI note number."""

    step: str
    octave: int
    head: str
    key: int


DRUM_MARKS = {
    Drum.KICK: DrumMark("F", 4, "normal", 36),
    Drum.SNARE: DrumMark("C", 5, "normal", 38),
    Drum.GHOST: DrumMark("C", 5, "normal", 38),
    Drum.SIDE_STICK: DrumMark("C", 5, "x", 37),
    Drum.CLOSED_HAT: DrumMark("G", 5, "x", 42),
    Drum.PEDAL_HAT: DrumMark("D", 4, "x", 44),
    Drum.OPEN_HAT: DrumMark("G", 5, "circle-x", 46),
    Drum.RIDE: DrumMark("F", 5, "x", 51),
    Drum.RIDE_BELL: DrumMark("F", 5, "diamond", 53),
    Drum.CRASH: DrumMark("A", 5, "x", 49),
    Drum.HIGH_TOM: DrumMark("E", 5, "normal", 50),
    Drum.MID_TOM: DrumMark("D", 5, "normal", 47),
    Drum.LOW_TOM: DrumMark("A", 4, "normal", 45),
    Drum.SHAKER: DrumMark("E", 4, "x", 70),
    Drum.CLICK: DrumMark("B", 5, "triangle", 76),
}


def drum_id(part_id: str, drum: Drum) -> str:
    """Id of a piece of the kit in a MusicXML part."""
    return f"{part_id}-{drum.name.lower().replace('_', '-')}"

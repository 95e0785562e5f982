"""The tones of a scale as a ladder of pitches, and the strings in the order in which they rise.

Searches work on plain MIDI numbers; notes are spelled only for the winner.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from phrasewright.errors import NeckError
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.neck.place import PositionNote
from phrasewright.theory.pitch import Pitch
from phrasewright.theory.scale import Scale


def scale_pitches(scale: Scale, low_midi: int, high_midi: int) -> list[int]:
    """Every scale tone from ``low_midi`` to ``high_midi``, both included, rising."""
    tones = _pitch_classes(scale)
    return [pitch for pitch in range(low_midi, high_midi + 1) if pitch % 12 in tones]


@lru_cache(maxsize=256)
def _pitch_classes(scale: Scale) -> frozenset[int]:
    return frozenset((scale.root.pitch_class + semitones) % 12 for semitones in scale.kind.semitones)


def strings_between(instrument: Instrument, lowest: int | None, highest: int | None) -> tuple[int, ...]:
    """String numbers in the wished range, lowest-sounding first. Raises NeckError for strings that do not exist.

    On a re-entrant tuning the order of pitch is not the order of numbers; two strings in unison keep theirs.
    """
    count = len(instrument.tuning)
    lowest = count if lowest is None else lowest
    highest = 1 if highest is None else highest
    if not 1 <= highest <= lowest <= count:
        raise NeckError(
            f"Cannot use strings {lowest} to {highest} of {instrument.name}: it has strings 1 to {count}, "
            "and the lowest string has the larger number.",
            alternatives=(f"strings {count} to 1",),
        )
    return tuple(sorted(range(highest, lowest + 1), key=lambda string: (instrument.tuning[string - 1].midi, -string)))


def frets_by_string(places: Sequence[StringFret]) -> dict[int, list[int]]:
    """Frets of each string in the order of the places."""
    frets: dict[int, list[int]] = {}
    for place in places:
        frets.setdefault(place.string, []).append(place.fret)
    return frets


def spell(
    scale: Scale, instrument: Instrument, place: StringFret, *, finger: int, cycle: int, added: bool = False
) -> PositionNote:
    """A place as a finished note of the scale. Raises ValueError if it sounds no scale tone."""
    pitch_midi = instrument.midi_at(place)
    degree = scale.degree_at(pitch_midi)
    if degree is None:
        raise ValueError(f"{place} sounds no tone of {scale}")
    pitch = Pitch.from_midi(pitch_midi, degree.above(scale.root))
    return PositionNote(place=place, finger=finger, pitch=pitch, degree=degree, cycle=cycle, added=added)

"""Instruments and their tunings, as data.

Tunings are written as players say them, from the highest string number to string 1 (on a re-entrant ukulele that
is not from low to high). All tunings are common practice. Scale lengths and fret counts are typical builds, from
memory: 648 mm for the guitar (25.5 in is 647.7), 27 in for baritone and eight strings, 34 in for the bass, a concert
ukulele, a 13 7/8 in mandolin; every one can be overridden.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TypeVar

from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.theory.pitch import Pitch

_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tuning:
    """A named tuning. pitches: string 1 first, as ``Instrument`` has them."""

    id: str
    name: str
    pitches: tuple[Pitch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentKind:
    """A build with its usual tunings, the standard one first. written_octaves: notation above sounding pitch."""

    id: str
    name: str
    frets: int
    scale_length_mm: float
    written_octaves: int
    tunings: tuple[Tuning, ...]


def parse_tuning(text: str) -> tuple[Pitch, ...]:
    """``E2 A2 D3 G3 B3 E4``, highest string number first, to pitches with string 1 first. Raises ValueError."""
    return tuple(Pitch.parse(word) for word in reversed(text.split()))


_STANDARD = "standard"
_SIX = (
    (_STANDARD, "standard", "E2 A2 D3 G3 B3 E4"),
    ("drop-d", "drop D", "D2 A2 D3 G3 B3 E4"),
    ("double-drop-d", "double drop D", "D2 A2 D3 G3 B3 D4"),
    ("dadgad", "DADGAD", "D2 A2 D3 G3 A3 D4"),
    ("open-d", "open D", "D2 A2 D3 F#3 A3 D4"),
    ("open-e", "open E", "E2 B2 E3 G#3 B3 E4"),
    ("open-g", "open G", "D2 G2 D3 G3 B3 D4"),
    ("open-a", "open A", "E2 A2 E3 A3 C#4 E4"),
    ("open-c", "open C", "C2 G2 C3 G3 C4 E4"),
    ("open-d-minor", "open D minor", "D2 A2 D3 F3 A3 D4"),
    ("half-step-down", "half step down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
    ("whole-step-down", "whole step down", "D2 G2 C3 F3 A3 D4"),
    ("drop-c", "drop C", "C2 G2 C3 F3 A3 D4"),
    ("all-fourths", "all fourths", "E2 A2 D3 G3 C4 F4"),
    ("all-fifths", "all fifths", "C2 G2 D3 A3 E4 B4"),
)
# id, name, frets, scale length in mm, written octaves, tunings
_TABLE = (
    ("guitar", "guitar", 22, 648.0, 1, _SIX),
    ("classical-guitar", "classical guitar", 19, 650.0, 1, _SIX),
    (
        "guitar-7",
        "seven-string guitar",
        24,
        648.0,
        1,
        ((_STANDARD, "standard", "B1 E2 A2 D3 G3 B3 E4"), ("drop-a", "drop A", "A1 E2 A2 D3 G3 B3 E4")),
    ),
    (
        "guitar-8",
        "eight-string guitar",
        24,
        685.8,
        1,
        ((_STANDARD, "standard", "F#1 B1 E2 A2 D3 G3 B3 E4"), ("drop-e", "drop E", "E1 B1 E2 A2 D3 G3 B3 E4")),
    ),
    (
        "baritone",
        "baritone guitar",
        22,
        685.8,
        1,
        ((_STANDARD, "B to B", "B1 E2 A2 D3 F#3 B3"), ("a-to-a", "A to A", "A1 D2 G2 C3 E3 A3")),
    ),
    (
        "bass",
        "bass",
        21,
        863.6,
        1,
        (
            (_STANDARD, "standard", "E1 A1 D2 G2"),
            ("drop-d", "drop D", "D1 A1 D2 G2"),
            ("half-step-down", "half step down", "Eb1 Ab1 Db2 Gb2"),
        ),
    ),
    (
        "bass-5",
        "five-string bass",
        21,
        863.6,
        1,
        ((_STANDARD, "standard", "B0 E1 A1 D2 G2"), ("high-c", "high C", "E1 A1 D2 G2 C3")),
    ),
    (
        "ukulele",
        "ukulele",
        18,
        381.0,
        0,
        (
            (_STANDARD, "standard, high G", "G4 C4 E4 A4"),
            ("low-g", "low G", "G3 C4 E4 A4"),
            ("d-tuning", "D tuning", "A4 D4 F#4 B4"),
            ("baritone", "baritone", "D3 G3 B3 E4"),
        ),
    ),
    ("mandolin", "mandolin", 20, 352.4, 0, ((_STANDARD, "standard", "G3 D4 A4 E5"),)),
)


def _kind(
    id_: str,
    name: str,
    frets: int,
    scale_length_mm: float,
    written_octaves: int,
    tunings: Iterable[tuple[str, str, str]],
) -> InstrumentKind:
    return InstrumentKind(
        id=id_,
        name=name,
        frets=frets,
        scale_length_mm=scale_length_mm,
        written_octaves=written_octaves,
        tunings=tuple(Tuning(id=row[0], name=row[1], pitches=parse_tuning(row[2])) for row in tunings),
    )


INSTRUMENT_KINDS = {row[0]: _kind(*row) for row in _TABLE}


def instrument(
    id_: str,
    *,
    tuning: str | Sequence[Pitch] | None = None,
    capo: int = 0,
    frets: int | None = None,
    scale_length_mm: float | None = None,
    fretting_hand: Hand = Hand.LEFT,
) -> Instrument:
    """An instrument from the catalogue, with anything about it changed.

    tuning: None for standard, the id of a named tuning, or pitches with string 1 first (``parse_tuning`` reads text).
    Raises ValueError, in words for a teacher, for unknown ids and impossible builds.
    """
    kind = _named(id_, INSTRUMENT_KINDS, "instrument")
    tuned = _tuning(kind, tuning)
    name = kind.name if tuned is kind.tunings[0] else f"{kind.name}, {tuned.name}"
    return Instrument(
        id=kind.id,
        name=name,
        tuning=tuned.pitches,
        frets=kind.frets if frets is None else frets,
        scale_length_mm=kind.scale_length_mm if scale_length_mm is None else scale_length_mm,
        capo=capo,
        fretting_hand=fretting_hand,
        written_octaves=kind.written_octaves,
    )


def _tuning(kind: InstrumentKind, tuning: str | Sequence[Pitch] | None) -> Tuning:
    if tuning is None:
        return kind.tunings[0]
    if isinstance(tuning, str):
        return _named(tuning, {one.id: one for one in kind.tunings}, f"tuning of the {kind.name}")
    return Tuning(id="custom", name="custom tuning", pitches=tuple(tuning))


def _named(id_: str, table: Mapping[str, _Row], what: str) -> _Row:
    if id_ in table:
        return table[id_]
    close = get_close_matches(id_.lower().replace(" ", "-"), table, n=3, cutoff=0.5)
    hint = f"did you mean {' or '.join(close)}?" if close else f"there is {', '.join(table)}"
    raise ValueError(f"unknown {what} {id_!r}; {hint}")

"""Grooves: how the band feels, as data.

A ``Groove`` has one ``Plan`` for each meter it fits. A plan holds several drum beats, bass patterns and chord rhythms
that go together, so that a second chorus need not repeat the first, and the fills and the last bar that fit them.
All patterns are common practice, written for this program; swing is a curve over tempo and never stands in a pattern.

Drum signs: ``X`` accent, ``x`` stroke, ``o`` soft, ``f`` feathered, felt more than heard. Chord signs: the first three,
and ``p`` a push that already has the chord of the next bar. Bass signs: ``R`` root, ``3 5 6 7`` that degree of the
chord, ``8`` the root an octave up, ``c`` a chord tone, ``w`` a chord or scale tone, ``A`` an approach to the next root,
``g`` a soft repeat of the note before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from phrasewright.band import book
from phrasewright.errors import PhrasewrightError
from phrasewright.score.model import Drum
from phrasewright.score.performance import SwingCurve
from phrasewright.theory.meter import Meter


class GrooveError(PhrasewrightError):
    """A groove that does not exist or does not fit a meter; the hint names those that do."""

    exit_code = 2


class BassStyle(StrEnum):
    """How the bass treats a bar whose chord went on sounding from the bar before."""

    ROOTS = "roots"  # begins every bar on the root
    WALKING = "walking"  # may begin it on any chord tone


@dataclass(frozen=True, slots=True, kw_only=True)
class DrumBeat:
    """A bar of drums. lanes: each piece with its pattern."""

    lanes: tuple[tuple[Drum, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Drums that take over from a place in the bar to its end. start: quarter notes from the bar line."""

    start: Fraction
    beat: DrumBeat


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a groove plays in one meter. Each tuple holds variations; ``fills`` go from slight to full."""

    beats: tuple[DrumBeat, ...]
    fills: tuple[Fill, ...]
    bass: tuple[str, ...]
    chords: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove:
    """A rhythmic feel. swing: ratio by tempo; voices: see ``sound.voices``; crash: the piece that marks new phrases."""

    id: str
    name: str
    description: str
    plans: Mapping[Meter, Plan]
    swing: SwingCurve
    chord_voice: str
    bass_style: BassStyle
    crash: Drum
    bass_voice: str = "bass"

    @property
    def meters(self) -> tuple[Meter, ...]:
        """The meters it fits, the one it is usually played in first."""
        return tuple(self.plans)

    def plan(self, meter: Meter) -> Plan:
        """What it plays in a meter. Raises GrooveError when it does not fit."""
        if meter not in self.plans:
            fitting = ", ".join(groove.id for groove in grooves_for(meter)) or "none"
            meters = ", ".join(str(one) for one in self.meters)
            raise GrooveError(
                f"the groove {self.id} does not fit {meter}",
                hint=f"Grooves for {meter}: {fitting}; {self.id} is for {meters}.",
            )
        return self.plans[meter]


_DRUM_KEYS = {
    "kick": Drum.KICK,
    "snare": Drum.SNARE,
    "ghost": Drum.GHOST,
    "stick": Drum.SIDE_STICK,
    "hat": Drum.CLOSED_HAT,
    "pedal": Drum.PEDAL_HAT,
    "open": Drum.OPEN_HAT,
    "ride": Drum.RIDE,
    "bell": Drum.RIDE_BELL,
    "high": Drum.HIGH_TOM,
    "mid": Drum.MID_TOM,
    "low": Drum.LOW_TOM,
    "shaker": Drum.SHAKER,
}


def _beat(lanes: Mapping[str, str]) -> DrumBeat:
    return DrumBeat(lanes=tuple((_DRUM_KEYS[key], pattern) for key, pattern in lanes.items()))


def _plan(page: book.Page) -> Plan:
    return Plan(
        beats=tuple(_beat(lanes) for lanes in page["beats"]),
        fills=tuple(Fill(start=Fraction(start), beat=_beat(lanes)) for start, lanes in page["fills"]),
        bass=tuple(page["bass"]),
        chords=tuple(page["chords"]),
    )


def _plans(pages: Mapping[str, book.Page]) -> Mapping[Meter, Plan]:
    return MappingProxyType({Meter.parse(meter): _plan(page) for meter, page in pages.items()})


# Swing: drummers' long-to-short ratio falls about linearly with tempo, from 3.5 to 1 at slow tempos to even eighths at
# 300 (Friberg & Sundstroem 2002). The slow end is held near 2.5 because bass, chords and the student share the ratio
# and soloists swing far less (1.3 to 1, Corcoran & Frieler 2021). A shuffle is a triplet feel (common practice).
SWING = SwingCurve(((80.0, 2.5), (140.0, 2.2), (200.0, 1.8), (250.0, 1.4), (300.0, 1.0)))
SHUFFLE = SwingCurve(((60.0, 2.2), (120.0, 2.0), (180.0, 1.8), (240.0, 1.5)))

_ALL = (
    Groove(
        id="straight-eighths",
        name="straight eighths",
        description="Rock and pop: even eighths on the hat, backbeat on the snare.",
        plans=_plans(book.STRAIGHT),
        swing=SwingCurve(),
        chord_voice="rhythm guitar",
        bass_style=BassStyle.ROOTS,
        crash=Drum.CRASH,
    ),
    Groove(
        id="shuffle",
        name="shuffle",
        description="Blues: long-short eighths, a walking boogie bass, backbeat on the snare.",
        plans=_plans(book.SHUFFLE),
        swing=SHUFFLE,
        chord_voice="rhythm guitar",
        bass_style=BassStyle.ROOTS,
        crash=Drum.CRASH,
    ),
    Groove(
        id="swing",
        name="swing",
        description="Jazz: ride cymbal, hat on two and four, walking bass, sparse chords.",
        plans=_plans(book.SWING),
        swing=SWING,
        chord_voice="electric piano",
        bass_style=BassStyle.WALKING,
        crash=Drum.RIDE_BELL,
    ),
    Groove(
        id="slow-12/8",
        name="slow 12/8",
        description="Slow blues and ballads: three eighths to every beat.",
        plans=_plans(book.SLOW_TWELVE),
        swing=SwingCurve(),
        chord_voice="organ",
        bass_style=BassStyle.ROOTS,
        crash=Drum.CRASH,
    ),
    Groove(
        id="quiet-sixteenths",
        name="quiet sixteenths",
        description="Soft funk for slower tempos: even sixteenths, side stick, little notes between.",
        plans=_plans(book.SIXTEENTHS),
        swing=SwingCurve(),
        chord_voice="electric piano",
        bass_style=BassStyle.ROOTS,
        crash=Drum.OPEN_HAT,
    ),
)
GROOVES: Mapping[str, Groove] = MappingProxyType({groove.id: groove for groove in _ALL})


def grooves_for(meter: Meter) -> tuple[Groove, ...]:
    """The grooves that fit a meter, the plainest first; empty when none does."""
    return tuple(groove for groove in GROOVES.values() if meter in groove.plans)


def groove_named(id_: str) -> Groove:
    """The groove with an id. Raises GrooveError naming those there are."""
    if id_ not in GROOVES:
        raise GrooveError(f"there is no groove {id_!r}.", hint=f"There are {', '.join(GROOVES)}.")
    return GROOVES[id_]

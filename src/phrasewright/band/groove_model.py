"""What a groove is: patterns for each meter, who plays them, and how they swing.

A ``Groove`` has one ``Plan`` for each meter it fits. A plan holds several drum beats, bass patterns and chord rhythms
that go together, so that a second chorus need not repeat the first, and the fills that fit them. An empty tuple is a
part that rests. The signs of the patterns:

    drums   X accent, x stroke, o soft, f feathered, felt more than heard
    chords  X accent, x stroke, o soft, p a push that already has the chord of the next bar
    bass    R root, 3 5 6 7 that degree of the chord, 2 4 that degree of its scale, 8 the root an octave up, c a chord
            tone, w a chord or scale tone, A an approach to the next root, g a soft repeat of the note before; | a bar
            line inside a riff
    all     . silence; chords and bass: - holds the stroke before
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from phrasewright.errors import PhrasewrightError
from phrasewright.score.model import Drum
from phrasewright.score.performance import SwingCurve
from phrasewright.theory.meter import Meter

DRUM_SIGNS = "Xxof"
CHORD_SIGNS = "Xxop"
BASS_SIGNS = "R2345678cwAg"


class GrooveError(PhrasewrightError):
    """A groove that does not exist, cannot be read or does not fit a meter; the hint says what can be done."""

    exit_code = 2


class BassStyle(StrEnum):
    """How the bass goes about its patterns."""

    ROOTS = "roots"  # begins every bar on the root
    WALKING = "walking"  # may begin a bar whose chord goes on on any chord tone
    FIFTHS = "fifths"  # begins a bar whose chord goes on on the fifth when the root came last, else on the root
    RIFF = "riff"  # keeps one figure and its shape through a part, moved with the chords
    PEDAL = "pedal"  # holds the bass note of a part's first chord, whatever the chords do


class ChordStyle(StrEnum):
    """What a stroke of the chord part sounds; ``families`` finds it."""

    VOICINGS = "voicings"  # three or four strings, the chord's telling tones first
    SHELLS = "shells"  # three strings: root, third, seventh
    DROP_2 = "drop-2"  # four neighbouring strings, the second voice dropped an octave
    TRIADS = "triads"  # three neighbouring strings, the three most telling tones
    OPEN = "open"  # four strings or more at the nut, open ones among them, else a barre
    KEYBOARD = "keyboard"  # two hands on keys
    FIFTHS = "fifths"  # its root and fifth alone, or its root alone where the fifth is changed


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
    """A rhythmic feel.

    swing: ratio by tempo; voices: see ``sound.voices``; crash: the piece that marks new parts of the form, None for
    drums that mark neither them nor the end.
    """

    id: str
    name: str
    description: str
    plans: Mapping[Meter, Plan]
    swing: SwingCurve
    chord_voice: str
    chord_style: ChordStyle
    bass_voice: str
    bass_style: BassStyle
    crash: Drum | None

    @property
    def meters(self) -> tuple[Meter, ...]:
        """The meters it fits, the one it is usually played in first."""
        return tuple(self.plans)

    def plan(self, meter: Meter) -> Plan:
        """What it plays in a meter. Raises GrooveError when it does not fit."""
        if meter not in self.plans:
            meters = ", ".join(str(one) for one in self.meters)
            raise GrooveError(f"The groove {self.id} does not fit {meter}.", hint=f"It is for {meters}.")
        return self.plans[meter]

"""How a note is played on a string: how it begins, whether it is shaken, whether the string is damped.

Terms and what hands can do: common practice. A touch never changes the written pitch: a bent note is written at the
pitch that the bend reaches, and its place is the fret that the finger holds. Bends go by whole semitones, since they
end on a written pitch. What a note needs of the one before it is checked by ``touch_rules``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

WIDEST_BEND = 2  # semitones; a whole tone is what hands do without strain on light strings
USUAL_ARRIVAL = Fraction(1, 4)


class Technique(StrEnum):
    """What a player may be asked to use, in the words of the trade."""

    HAMMER_ON = "hammer-on"
    PULL_OFF = "pull-off"
    SLIDE = "slide"
    BEND = "bend"
    VIBRATO = "vibrato"
    PALM_MUTE = "palm mute"
    DEAD_NOTE = "dead note"


class Start(StrEnum):
    """How a note begins."""

    PICKED = "picked"
    HAMMERED = "hammered"  # a finger comes down on a string that sounds
    PULLED = "pulled"  # a finger plucks the string as it leaves it
    SLID = "slid"  # the finger of the note before moves along the string
    BENT = "bent"  # struck below its pitch, and pushed up to it


class Damping(StrEnum):
    """What damps the string while it sounds."""

    OPEN = "open"  # nothing
    PALM = "palm"  # the side of the picking hand, by the bridge
    DEAD = "dead"  # the fretting fingers: a click without definite pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """semitones: from how far below the written pitch; arrives: share of the note after which it is reached."""

    semitones: int
    arrives: Fraction = USUAL_ARRIVAL

    def __post_init__(self) -> None:
        if not 1 <= self.semitones <= WIDEST_BEND:
            raise ValueError(f"a bend goes up by 1 to {WIDEST_BEND} semitones, got {self.semitones}")
        if not 0 < self.arrives <= 1:
            raise ValueError(f"a bend arrives within its note, at a share in (0, 1], got {self.arrives}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """How one note is played. bend: set exactly when it begins bent."""

    start: Start = Start.PICKED
    bend: Bend | None = None
    vibrato: bool = False
    damping: Damping = Damping.OPEN

    def __post_init__(self) -> None:
        if (self.start is Start.BENT) != (self.bend is not None):
            raise ValueError(f"a note has a bend exactly when it begins bent, got {self.start} and {self.bend}")
        if self.damping is not Damping.OPEN and (self.vibrato or self.bend is not None):
            raise ValueError(f"a damped string is neither bent nor shaken, got {self}")
        if self.damping is Damping.DEAD and self.start is not Start.PICKED:
            raise ValueError(f"a dead note is struck, got {self.start}")

    @property
    def is_legato(self) -> bool:
        """True when the string sounds on from the note before."""
        return self.start in LEGATO

    @property
    def techniques(self) -> tuple[Technique, ...]:
        """What it asks of the player, in the order of ``Technique``."""
        used = {_BY_START.get(self.start), _BY_DAMPING.get(self.damping), Technique.VIBRATO if self.vibrato else None}
        return tuple(technique for technique in Technique if technique in used)


LEGATO = frozenset({Start.HAMMERED, Start.PULLED, Start.SLID})
_BY_START = {
    Start.HAMMERED: Technique.HAMMER_ON,
    Start.PULLED: Technique.PULL_OFF,
    Start.SLID: Technique.SLIDE,
    Start.BENT: Technique.BEND,
}
_BY_DAMPING = {Damping.PALM: Technique.PALM_MUTE, Damping.DEAD: Technique.DEAD_NOTE}
PLAIN = Touch()
DEAD = Touch(damping=Damping.DEAD)

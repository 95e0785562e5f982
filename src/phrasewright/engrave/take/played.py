"""A played note as the figures of a take see it, and its sign.

The sign says two things by shape, and by colour only beside the shape. What the note does against the chord: a filled
disc is a tone of the chord, a ring another note that fits, a crossed diamond one that rubs, a small dot where no chord
is known. When it came: an arrow to the left is early, to the right late, none on time. A note that was hardly heard is
drawn in dashes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from phrasewright.engrave.palette import Ink
from phrasewright.engrave.svg import Pen, circle, group, path, polygon

SIGN_MM = 1.25  # radius
DOT_MM = 0.7
HALO_MM = 2.5
ARROW_MM = 1.5
DOUBT_MM = (0.6, 0.5)


class Timing(StrEnum):
    """When a note came."""

    EARLY = "early"
    ON_TIME = "on time"
    LATE = "late"
    UNKNOWN = "not placed"


class Standing(StrEnum):
    """What a note does against the chord."""

    CHORD_TONE = "chord tone"
    TENSION = "other note that fits"
    CLASH = "rubs against the chord"
    UNKNOWN = "no chord"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedMark:
    """One note. number: among all notes heard; curve_cents: every ``CURVE_STEP_S``, None where no pitch was heard.

    fret: as tablature prints it; words: all of it in a sentence.
    """

    number: int
    onset_s: float
    offset_s: float
    pitch_midi: float
    words: str
    curve_cents: tuple[float | None, ...] = ()
    timing: Timing = Timing.UNKNOWN
    standing: Standing = Standing.UNKNOWN
    deviation_s: float | None = None
    string: int | None = None
    fret: str = ""
    is_sure: bool = True
    is_dead: bool = False

    @property
    def ink(self) -> Ink:
        """Its colour: of what wants a look, of a chord tone, or plain ink."""
        if self.standing is Standing.CLASH or self.timing in (Timing.EARLY, Timing.LATE):
            return Ink.NOW
        return Ink.TARGET if self.standing is Standing.CHORD_TONE else Ink.INK


def sign(mark: PlayedMark, x: float, y: float) -> str:
    """The sign of a note at a place in mm, with an unseen halo to light."""
    return group("note", circle(x, y, HALO_MM, class_="halo"), *sign_marks(mark, x, y), data_note=mark.number)


def sign_marks(mark: PlayedMark, x: float, y: float) -> Iterator[str]:
    """The marks that the sign is made of, for a legend."""
    yield _body(mark, x, y)
    if mark.timing in (Timing.EARLY, Timing.LATE):
        yield arrow(x, y, mark.timing, SIGN_MM + 0.5)


def _body(mark: PlayedMark, x: float, y: float) -> str:
    dash = () if mark.is_sure else DOUBT_MM
    if mark.is_dead:
        arm, pen = SIGN_MM * 0.8, Pen(width_mm=0.4)
        return path(
            ("M", (x - arm, y - arm), "L", (x + arm, y + arm), "M", (x - arm, y + arm), "L", (x + arm, y - arm)), pen
        )
    if mark.standing is Standing.UNKNOWN:
        return circle(x, y, DOT_MM, fill=Ink.INK if mark.is_sure else None, pen=Pen(width_mm=0.25, dash_mm=dash))
    if mark.standing is Standing.CLASH:
        r, pen = SIGN_MM * 1.2, Pen(ink=Ink.NOW, width_mm=0.35, dash_mm=dash)
        diamond = ("M", (x, y - r), "L", (x + r, y), "L", (x, y + r), "L", (x - r, y), "Z")
        return path((*diamond, "M", (x - r / 2, y - r / 2), "L", (x + r / 2, y + r / 2)), pen)
    filled = mark.standing is Standing.CHORD_TONE and mark.is_sure
    ink = Ink.TARGET if mark.standing is Standing.CHORD_TONE else Ink.INK
    return circle(x, y, SIGN_MM, fill=ink if filled else None, pen=Pen(ink=ink, width_mm=0.35, dash_mm=dash))


def arrow(x: float, y: float, timing: Timing, gap_mm: float) -> str:
    """An arrowhead beside a place: left of it for early, right of it for late."""
    way = -1.0 if timing is Timing.EARLY else 1.0
    base, tip, half = x + way * gap_mm, x + way * (gap_mm + ARROW_MM), ARROW_MM * 0.6
    return polygon(((base, y - half), (tip, y), (base, y + half)), Ink.NOW, f"arrow {timing}")

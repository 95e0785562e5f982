"""All that findings are drawn from: what was heard, where it lies, what the lesson wished."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.listen.finding import Topic
from phrasewright.listen.heard import HeardTechnique, Hearing
from phrasewright.listen.placed import Alignment, Comparison, TimingSummary
from phrasewright.listen.spotted import Spotting
from phrasewright.melody.priors import Idiom
from phrasewright.theory.pitch import Pitch
from phrasewright.theory.scale import Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """A take and its lesson. spotting: None where no motifs were looked for; shelf: letters offered, in order.

    wished_space: least share of silence the lesson asks for; groove_swing_ratio: of the track, 1 = straight;
    comparison: against a written line, None for an improvised take; open_strings: string 1 first, () = not known;
    about: topics the lesson is about, () = all alike; asked: techniques the lesson asks for; a4_hz: its concert pitch.
    """

    hearing: Hearing
    alignment: Alignment
    timing: TimingSummary
    scale: Scale
    spotting: Spotting | None = None
    shelf: tuple[str, ...] = ()
    wished_space: float = 0.2
    groove_swing_ratio: float = 1.0
    comparison: Comparison | None = None
    idiom: Idiom = Idiom.JAZZ
    open_strings: tuple[Pitch, ...] = ()
    about: tuple[Topic, ...] = ()
    asked: frozenset[HeardTechnique] = frozenset()
    a4_hz: float = 440.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.wished_space < 1.0:
            raise ValueError(f"a share of silence lies in 0..1, got {self.wished_space}")
        if self.groove_swing_ratio < 1.0:
            raise ValueError(f"a swing ratio is 1 or more, got {self.groove_swing_ratio}")

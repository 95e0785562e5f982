"""One thing heard in a take that is worth saying."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Topic(StrEnum):
    """What a finding is about."""

    SPACE = "space"
    MOTIFS = "motifs"
    LANDING = "landing notes"
    RHYTHM = "rhythm"
    TIMING = "timing"
    SCALE = "scale"
    RANGE = "range"
    DEVELOPMENT = "development"
    TECHNIQUE = "technique"
    TUNING = "tuning"
    LINE = "the written line"


class Tone(StrEnum):
    """Whether a finding praises, only tells, or asks for work."""

    GOOD = "good"
    NOTE = "note"
    WORK = "work"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing heard. kind: its name in the table of thresholds, e.g. ``rushing``.

    bars: printed numbers of the first and last bar it is heard in, None = all through; from_s, to_s: the same in the
    take; size, unit: how much, e.g. 23 ``ms``; weight: how much it matters, 0..1, findings go by it; said: one or two
    plain and kind sentences; try_next: what to do about it; confidence: 0..1.
    """

    kind: str
    topic: Topic
    tone: Tone
    said: str
    try_next: str
    size: float
    unit: str
    confidence: float
    weight: float
    bars: tuple[int, int] | None = None
    from_s: float | None = None
    to_s: float | None = None
    notes: tuple[int, ...] = ()  # indices of the notes it is about, at most a handful

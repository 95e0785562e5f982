"""An exercise: a score with one sentence of instruction, made from motifs of the shelf."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.score.model import Note, Part, PartRole, Score

LEAD_NAME = "Lead guitar"


class ExerciseKind(StrEnum):
    """The rungs of the ladder, in their rising order."""

    EACH_ALONE = "each-alone"
    OTHER_ORDER = "other-order"
    LONGER = "longer"
    RUNNING = "running"
    WITH_SPACE = "with-space"
    TWICE_AS_FAST = "twice-as-fast"
    LONG_THEN_SHORT = "long-then-short"
    FREE_CHOICE = "free-choice"


class ExerciseOrder(StrEnum):
    """How exercises follow each other."""

    COURSE = "course"  # as ``ExerciseKind`` lists them
    DIFFICULTY = "difficulty"  # easiest first; what is the player's own choice comes last


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One rung. id: unique within a lesson; words: what to do; motifs: letters used, in order of first use."""

    id: str
    title: str
    words: str
    kind: ExerciseKind
    score: Score
    motifs: tuple[str, ...]


def lead_score(
    title: str,
    words: str,
    notes: Iterable[Note],
    *,
    bars: int,
    chart: Chart,
    position: Position,
    voice: LeadVoice = LeadVoice.GUITAR,
) -> Score:
    """A score of one lead part over the chart's first ``bars`` bars, the chorus repeating."""
    part = Part(
        role=PartRole.LEAD,
        name=LEAD_NAME,
        notes=tuple(sorted(notes, key=lambda note: note.onset)),
        voice=str(voice),
        instrument=position.instrument,
    )
    return Score(
        title=title,
        measures=chart.unfold(bars),
        parts=(part,),
        fifths=position.scale.signature_fifths,
        words=words,
    )


def loop_bars(needed: int, chart: Chart) -> int:
    """Bars an exercise fills so that it loops over the band: at least ``needed`` and 4.

    Whole choruses for charts of up to 16 bars; over a longer chart 4 or 8 bars where they do, else whole choruses.
    """
    chorus = len(chart.bars)
    if chorus > 16 and needed <= 8:
        return 4 if needed <= 4 else 8
    least = max(needed, 4)
    return -(-least // chorus) * chorus

"""One take heard and judged: the pieces of listening wired together, without files.

A take is heard; with an assignment its notes are laid over the bars (``laying``), motifs are found, findings are drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from phrasewright.app.assignment import Assignment
from phrasewright.app.laying import LaidTake, laid_take
from phrasewright.lesson.model import Lesson, tapped_beat
from phrasewright.listen.align.summary import BarTiming, timing_by_bar, timing_summary
from phrasewright.listen.backing import Removal
from phrasewright.listen.finding import Finding, Topic
from phrasewright.listen.findings.findings import findings, first_things
from phrasewright.listen.findings.summary import summary
from phrasewright.listen.findings.take import Take
from phrasewright.listen.hear.hear import hear
from phrasewright.listen.heard import HeardTechnique, Hearing
from phrasewright.listen.placed import Alignment, Comparison, PlacedNote, TimingSummary, Verdict
from phrasewright.listen.spot.motifs import spot_motifs, usual_step
from phrasewright.listen.spot.tablature import places_of
from phrasewright.listen.spotted import Spotting
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.score.model import Part
from phrasewright.score.technique import Technique

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

TECHNIQUES = {
    Technique.BEND: HeardTechnique.BEND,
    Technique.VIBRATO: HeardTechnique.VIBRATO,
    Technique.SLIDE: HeardTechnique.SLIDE,
    Technique.HAMMER_ON: HeardTechnique.LEGATO,
    Technique.PULL_OFF: HeardTechnique.LEGATO,
    Technique.DEAD_NOTE: HeardTechnique.DEAD,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class InBars:
    """A take over its bars. findings: what matters most first; first: the few to tell at once; words: what was played.

    written: the line to play, as often as the take has room for it; comparison: against it; both None for an own line.
    """

    assignment: Assignment
    alignment: Alignment
    timing: TimingSummary
    bar_timing: tuple[BarTiming, ...]
    spotting: Spotting
    findings: tuple[Finding, ...]
    first: tuple[Finding, ...]
    words: str
    written: Part | None = None
    comparison: Comparison | None = None

    @property
    def tempo_bpm(self) -> float | None:
        """The tempo played, in tapped beats a minute; None where no note tells."""
        if not self.alignment.notes:
            return None
        return self.alignment.clock.tempo_bpm / float(tapped_beat(self.assignment.plan.lesson.meter))


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """What became of one take. places, placed: of every note heard, on the neck and in the bars.

    in_bars: None without a lesson; remarks: what the player should know; removal: of the track, None without one.
    """

    hearing: Hearing
    played_on: Instrument
    places: tuple[StringFret | None, ...]
    placed: tuple[PlacedNote | None, ...] = ()
    remarks: tuple[str, ...] = ()
    removal: Removal | None = None
    in_bars: InBars | None = None

    @property
    def numbers(self) -> tuple[int, ...]:
        """The number among all notes heard of each note of the alignment."""
        return tuple(at for at, here in enumerate(self.placed) if here is not None)

    @property
    def verdicts(self) -> dict[int, Verdict]:
        """What became of the written note that each note was played for, by its number; empty without a line."""
        if self.in_bars is None or self.in_bars.comparison is None:
            return {}
        told = {id(one.heard): one.verdict for one in self.in_bars.comparison.outcomes if one.heard is not None}
        return {at: told[id(here)] for at, here in enumerate(self.placed) if id(here) in told}


def review(
    audio: FloatArray, played_on: Instrument, *, removal: Removal | None = None, remarks: tuple[str, ...] = ()
) -> Review:
    """Hear a take by itself. audio: without its track; removal: what was taken out; remarks: what is known before."""
    hearing = hear(audio)
    return Review(
        hearing=hearing,
        played_on=played_on,
        places=places_of(hearing.notes, played_on, tuning_cents=hearing.tuning_cents or 0.0),
        remarks=(*remarks, *hearing.remarks),
        removal=removal,
    )


def review_in_bars(
    audio: FloatArray,
    assignment: Assignment,
    *,
    removal: Removal | None = None,
    given_offset_s: float | None = None,
    remarks: tuple[str, ...] = (),
) -> Review:
    """Hear and judge a take of a lesson. given_offset_s: where bar 1 begins in it; the rest as for ``review``."""
    hearing = hear(audio)
    in_bars = _judged(hearing, assignment, laid_take(hearing, assignment, removal, given_offset_s))
    placed = placed_notes(hearing, in_bars.alignment)
    return Review(
        hearing=hearing,
        played_on=assignment.plan.lesson.instrument,
        places=tuple(None if here is None else here.place for here in placed),
        placed=placed,
        remarks=(*remarks, *hearing.remarks, *in_bars.alignment.remarks),
        removal=removal,
        in_bars=in_bars,
    )


def _judged(hearing: Hearing, assignment: Assignment, laid: LaidTake) -> InBars:
    plan, alignment = assignment.plan, laid.alignment
    lesson, cents = plan.lesson, hearing.tuning_cents or 0.0
    spotting = spot_motifs(alignment.notes, plan.shelf, usual_step=usual_step(lesson.all_counts), tuning_cents=cents)
    timing = timing_summary(alignment)
    swing = lesson.groove.swing.ratio_at(alignment.clock.performance.tempo_bpm)
    take = Take(
        hearing=hearing,
        alignment=alignment,
        timing=timing,
        scale=lesson.scale,
        spotting=spotting,
        shelf=tuple(item.letter for item in plan.shelf.items),
        wished_space=float(lesson.space),
        groove_swing_ratio=swing,
        comparison=laid.comparison,
        idiom=lesson.shelf.idiom,
        open_strings=lesson.instrument.tuning,
        about=aims_of(lesson, is_line=laid.comparison is not None),
        asked=frozenset(TECHNIQUES[used] for used in lesson.touches.techniques if used in TECHNIQUES),
        a4_hz=lesson.sound.a4_hz,
    )
    found = findings(take)
    return InBars(
        assignment=assignment,
        alignment=alignment,
        timing=timing,
        bar_timing=timing_by_bar(alignment),
        spotting=spotting,
        findings=found,
        first=first_things(found),
        words=summary(take).words,
        written=laid.written,
        comparison=laid.comparison,
    )


def aims_of(lesson: Lesson, *, is_line: bool) -> tuple[Topic, ...]:
    """What a lesson is about: its written line, or ideas from the shelf with space between; technique where asked."""
    ideas = (Topic.MOTIFS, Topic.SPACE, Topic.LANDING, Topic.RHYTHM, Topic.SCALE)
    technique = (Topic.TECHNIQUE,) if lesson.touches.techniques else ()
    return (*((Topic.LINE,) if is_line else ideas), *technique, Topic.TIMING, Topic.TUNING)


def placed_notes(hearing: Hearing, alignment: Alignment) -> tuple[PlacedNote | None, ...]:
    """For each note heard its place in the bars; None for dead notes outside the music."""
    waiting = list(reversed(alignment.notes))
    return tuple(waiting.pop() if waiting and waiting[-1].note is note else None for note in hearing.notes)

"""A take laid over the bars of its assignment, with places on the neck and against a written line.

Of several possible tempos the one is taken whose counts the notes keep best: a track that is heard tells nothing about
its tempo, and players do not always say. The shares it goes by are set by judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from phrasewright.app.assignment import Assignment
from phrasewright.listen.align.align import TrackOffset, align, expected_after
from phrasewright.listen.align.compare import compare
from phrasewright.listen.align.search import OffsetPrior
from phrasewright.listen.backing import Removal
from phrasewright.listen.heard import Hearing
from phrasewright.listen.placed import Alignment, Comparison, Verdict
from phrasewright.listen.spot.tablature import place_notes
from phrasewright.score.model import Part

KEPT_S = 0.045  # a note nearer than this to a beat or half-beat keeps it: soloists' spread and some more
BEGINS_EARLY_S = 0.6  # notes so long before a count-in is over say that the take does not begin with the track's
NEW_START_SD_S = 0.3  # around the first note, of a take that begins with the music


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidTake:
    """A take at one tempo. written, comparison: None for an own line; kept: how well its notes keep their counts."""

    alignment: Alignment
    written: Part | None
    comparison: Comparison | None
    kept: float


def laid_take(
    hearing: Hearing, assignment: Assignment, removal: Removal | None = None, given_offset_s: float | None = None
) -> LaidTake:
    """The take over its bars, at the tempo whose counts its notes keep best.

    removal: what is known of the track; given_offset_s: where the first bar begins in the take.
    """
    all_tempos = (_laid_at(tempo, hearing, assignment, removal, given_offset_s) for tempo in assignment.tempos_bpm)
    return max(all_tempos, key=lambda one: one.kept)


def _laid_at(
    tempo_bpm: float, hearing: Hearing, assignment: Assignment, removal: Removal | None, given_offset_s: float | None
) -> LaidTake:
    performance = assignment.performance(tempo_bpm)
    measures = assignment.measures(hearing.length_s, performance)
    performance = performance.over(measures)
    written = assignment.written(hearing.length_s, performance)
    cents, begins_s = hearing.tuning_cents or 0.0, assignment.begins_s(tempo_bpm)
    alignment = align(
        hearing.notes,
        measures,
        performance,
        written=written,
        given_offset_s=given_offset_s,
        track=_track_offset(removal, begins_s),
        expected=_expected(hearing, begins_s),
        tuning_cents=cents,
    )
    plan = assignment.plan
    placed = place_notes(alignment.notes, plan.lesson.instrument, plan.position, tuning_cents=cents)
    alignment = replace(alignment, notes=placed)
    comparison = None if written is None else compare(alignment, written, tuning_cents=cents)
    kept = kept_counts(alignment) if comparison is None else _kept_line(comparison)
    kept -= abs(alignment.clock.performance.swing_shift - performance.swing_shift)  # 2 to 1 at 60 is straight at 90
    return LaidTake(alignment=alignment, written=written, comparison=comparison, kept=kept)


def _track_offset(removal: Removal | None, begins_s: float) -> TrackOffset | None:
    if removal is None:
        return None
    offset_s = removal.lag_s + removal.stretch * begins_s
    return TrackOffset(offset_s=offset_s, stretch=removal.stretch, confidence=removal.confidence)


def _expected(hearing: Hearing, begins_s: float) -> OffsetPrior:
    """Where the music may begin: as in the track, or with the first note when that comes much sooner."""
    if hearing.notes and hearing.notes[0].onset_s < begins_s - BEGINS_EARLY_S:
        return OffsetPrior(expected_s=hearing.notes[0].onset_s, sd_s=NEW_START_SD_S)
    return expected_after(begins_s)


def kept_counts(alignment: Alignment) -> float:
    """Share of notes on beats and their halves (thirds in compound meters), beyond chance: 1 all, 0 as by chance."""
    notes = [placed for placed in alignment.notes if not placed.note.is_dead]
    if not notes:
        return 0.0
    meter = alignment.measures[0].meter
    cell = meter.pulse / (3 if meter.is_compound else 2)
    chance = min(2.0 * KEPT_S * alignment.clock.tempo_bpm / 60.0 / float(cell), 0.9)
    keeps = [placed.at % cell == Fraction(0) and abs(placed.deviation_s) <= KEPT_S for placed in notes]
    return (sum(keeps) / len(keeps) - chance) / (1.0 - chance)


def _kept_line(comparison: Comparison) -> float:
    right = comparison.of(Verdict.PLAYED, Verdict.EARLY, Verdict.LATE)
    timely = comparison.of(Verdict.PLAYED)
    return (len(right) + len(timely)) / (2 * max(len(comparison.outcomes), 1))

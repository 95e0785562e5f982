"""What a take was played to: a lesson, at one of its tempos, perhaps one of its exercises or studies as written.

An exercise or study goes round, so its bars and notes are laid out as often as the take is long. Without one the take
is the player's own line over the choruses of the track.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from pathlib import Path

from phrasewright.app.audio import COUNT_IN_BARS
from phrasewright.app.pieces import track_bars
from phrasewright.app.planning import plan_source
from phrasewright.app.source import read_source
from phrasewright.band.form import Ending
from phrasewright.errors import PhrasewrightError
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Measure, Part, PartRole, Score
from phrasewright.score.performance import FASTEST_BPM, SLOWEST_BPM, Performance
from phrasewright.sound.events import count_in

PART_OF_A_ROUND = Fraction(1, 4)  # from so much of it on, another round counts as begun


class AssignmentError(PhrasewrightError):
    """A wish for a take's lesson that cannot be met."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Assignment:
    """plan: of the lesson; tempos_bpm: tapped, that the take may be at; line: to be played, None = the own line."""

    plan: LessonPlan
    tempos_bpm: tuple[float, ...]
    line: Score | None = None

    @property
    def title(self) -> str:
        """What was played, for people."""
        return self.plan.lesson.title if self.line is None else f"{self.plan.lesson.title}: {self.line.title}"

    def at(self, tempo_bpm: float) -> Assignment:
        """The same at one tempo."""
        return replace(self, tempos_bpm=(tempo_bpm,))

    def performance(self, tempo_bpm: float) -> Performance:
        """How the lesson goes at a tapped tempo."""
        return self.plan.lesson.performance(tempo_bpm)

    def begins_s(self, tempo_bpm: float) -> float:
        """When the music begins in the track: after its count-in, and a written line after the track's pick-up."""
        bars = self._track_bars()
        performance = self.performance(tempo_bpm).over(bars)
        start = Fraction(0) if self.line is None else next(bar.onset for bar in bars if bar.number)
        return count_in(bars, performance, bars=COUNT_IN_BARS)[1] + performance.seconds_at(start)

    def measures(self, length_s: float, performance: Performance) -> tuple[Measure, ...]:
        """The bars of the music, as many rounds of a written line as a take of some length has room for."""
        return self._track_bars() if self.line is None else self._rounds(self.line, length_s, performance).measures

    def written(self, length_s: float, performance: Performance) -> Part | None:
        """The written line, as often as a take of some length has room for."""
        if self.line is None:
            return None
        return self._rounds(self.line, length_s, performance).part(PartRole.LEAD)

    def _track_bars(self) -> tuple[Measure, ...]:
        return track_bars(self.plan, Ending.FINAL)

    def _rounds(self, line: Score, length_s: float, performance: Performance) -> Score:
        played = length_s * performance.tempo_bpm / 60.0
        rounds = max(1, ceil(Fraction(played) / line.end - PART_OF_A_ROUND))
        lead = line.part(PartRole.LEAD)
        notes = tuple(
            replace(note, onset=note.onset + turn * line.end) for turn in range(rounds) for note in lead.notes
        )
        return replace(
            line, measures=tuple(_again(line.measures, line.end, rounds)), parts=(replace(lead, notes=notes),)
        )


def assignment_of(lesson: Path, *, exercise: str | None = None, tempo_bpm: float | None = None) -> Assignment:
    """Read what takes were played to. exercise: ``3``, ``exercise-3``, ``study-1`` or a title; tempo_bpm: tapped.

    Raises LessonError, OutputError and AssignmentError.
    """
    plan = plan_source(read_source(lesson))
    tempos_bpm = plan.lesson.tempos_bpm if tempo_bpm is None else (tempo_bpm,)
    for tempo in tempos_bpm:
        if not SLOWEST_BPM <= plan.lesson.quarters_per_minute(tempo) <= FASTEST_BPM:
            raise AssignmentError(f"{tempo:g} is no tempo for a take.", hint="Write the beats a minute you played at.")
    return Assignment(
        plan=plan, tempos_bpm=tempos_bpm, line=None if exercise is None else _line(plan, exercise, lesson)
    )


def _line(plan: LessonPlan, wanted: str, lesson: Path) -> Score:
    known = dict(_lines(plan))
    titled = {score.title.casefold(): score for score in known.values()}
    name = f"exercise-{wanted}" if wanted.isdecimal() else wanted.casefold()
    found = known.get(name) or titled.get(name)
    if found is None:
        names = ", ".join(known)
        raise AssignmentError(f"{lesson} has no exercise {wanted!r}.", hint=f"It has {names}.")
    return found


def _lines(plan: LessonPlan) -> Iterator[tuple[str, Score]]:
    for number, exercise in enumerate(plan.exercises, start=1):
        yield f"exercise-{number}", exercise.score
    for number, study in enumerate(plan.studies, start=1):
        yield f"study-{number}", study.score


def _again(measures: tuple[Measure, ...], length: Fraction, rounds: int) -> Iterator[Measure]:
    """Bars round after round, numbered on."""
    for turn in range(rounds):
        for bar in measures:
            later = turn * length
            chords = tuple(replace(span, onset=span.onset + later) for span in bar.chords)
            yield replace(bar, number=bar.number + turn * len(measures), onset=bar.onset + later, chords=chords)

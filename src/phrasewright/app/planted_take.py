"""A demonstration take: a study played by our own guitar with human slips of known size, to see whether they are heard.

The player is a little uneven all through, rushes one passage, plays one wrong note, leaves one note out and bends flat.
Each slip has a passage of its own, so that what is heard there can be told from the others. The same plan and seed give
the same take.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from math import exp2
from random import Random

import numpy as np

from phrasewright.app.audio import COUNT_IN_BARS
from phrasewright.compose.study import Study
from phrasewright.errors import PhrasewrightError
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import Measure, Note, PartRole
from phrasewright.score.performance import Performance
from phrasewright.score.technique import Start
from phrasewright.sound.events import SAMPLE_RATE, TimedNote, count_in, timed_notes
from phrasewright.sound.gesture import Gesture
from phrasewright.sound.render import render_notes
from phrasewright.sound.sounds import Models
from phrasewright.sound.voices import Voice

UNEVEN_S = 0.01  # a good player: well under what soloists have (docs/sources.md 5)
LATENCY_S = 0.08  # of the device it is recorded on
RUSH = 0.07  # share of its time that the passage loses
BEND_SEMITONES, FLAT_CENTS, BENDS = 2, 40, 3
LONG_NOTE = Fraction(3, 4)  # quarter notes: shorter ones are not bent
BEND_S = 0.15
TAIL_S = 1.5
LEAST_PHRASES = 3
HINT = "Let the study have more bars, or longer notes that can be bent to."


class PlantedTakeError(PhrasewrightError):
    """A study that no demonstration take can be made of."""

    exit_code = 2


class SlipKind(StrEnum):
    """What a demonstration player does wrong."""

    RUSHED = "rushed passage"
    WRONG_NOTE = "wrong note"
    LEFT_OUT = "note left out"
    FLAT_BENDS = "flat bends"
    UNEVEN = "unevenness"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One slip that was planted. notes: numbers in the lead; bars: printed, first and last; size, unit: how much."""

    kind: SlipKind
    notes: tuple[int, ...]
    bars: tuple[int, int]
    size: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlantedTake:
    """A rendered take. audio: float32 (n,) at ``SAMPLE_RATE``; offset_s: where bar 1 begins in it."""

    audio: np.ndarray
    offset_s: float
    slips: tuple[Slip, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spots:
    """Which notes of a line slip. rushed: those of the hurried passage, in order."""

    rushed: tuple[int, ...]
    wrong: int
    left_out: int
    bent: tuple[int, ...]


def planted_take(plan: LessonPlan, tempo_bpm: float, *, seed: int = 1) -> PlantedTake:
    """The lesson's first study with slips, at a tapped tempo, after the track's count-in. Raises PlantedTakeError."""
    rng, study = Random(seed), plan.studies[0]
    line = study.score.part(PartRole.LEAD).notes
    performance = plan.lesson.performance(tempo_bpm)
    spots = _spots(study, plan, rng)
    offset_s = LATENCY_S + count_in(study.score.measures, performance, bars=COUNT_IN_BARS)[1]
    played = _played(line, study, performance, spots, offset_s, rng)
    return PlantedTake(
        audio=_rendered(played, spots, plan),
        offset_s=offset_s,
        slips=tuple(_slips(spots, line, study.score.measures)),
    )


def _spots(study: Study, plan: LessonPlan, rng: Random) -> _Spots:
    """Slips in phrases of their own: the longest one after the first is rushed, the others share the rest."""
    lead = study.score.part(PartRole.LEAD).notes
    phrases = _phrases(lead)
    if len(phrases) < LEAST_PHRASES:
        raise PlantedTakeError("The study has too few phrases for a demonstration take.", hint=HINT)
    rushed = max(phrases[1:], key=len)
    others = [phrase for phrase in phrases if phrase != rushed]
    bent = [at for phrase in others for at in phrase if _can_be_bent(lead[at], plan)][:BENDS]
    free = [at for phrase in others for at in phrase[1:-1] if at not in bent]
    if not bent or len(free) < 2:  # one for the wrong note, one to leave out
        raise PlantedTakeError("The study has too few notes for the slips of a demonstration take.", hint=HINT)
    wrong, left_out = sorted(rng.sample(free, 2))
    return _Spots(rushed=rushed, wrong=wrong, left_out=left_out, bent=tuple(bent))


def _phrases(line: Sequence[Note]) -> list[tuple[int, ...]]:
    """Runs of notes between rests of a quarter note or more."""
    runs: list[list[int]] = [[]]
    for at, note in enumerate(line):
        if at and note.onset - line[at - 1].end >= 1:
            runs.append([])
        runs[-1].append(at)
    return [tuple(run) for run in runs]


def _can_be_bent(note: Note, plan: LessonPlan) -> bool:
    """True for a long note that can be bent up to from a stopped place of the position."""
    capo = plan.lesson.instrument.capo
    stopped = {one.pitch.midi for one in plan.position.notes if one.place.fret > capo}
    return note.duration >= LONG_NOTE and note.pitch.midi - BEND_SEMITONES in stopped


def _played(
    line: Sequence[Note], study: Study, performance: Performance, spots: _Spots, offset_s: float, rng: Random
) -> dict[int, TimedNote]:
    """Number in the line -> the note as it is played."""
    timed = timed_notes(study.score.part(PartRole.LEAD), performance, lead_in_s=offset_s)
    begin_s = timed[spots.rushed[0]].onset_s
    played = {}
    for at, note in enumerate(timed):
        if at == spots.left_out:
            continue
        slip_s = rng.gauss(0.0, UNEVEN_S)
        if at in spots.rushed:
            slip_s -= RUSH * (note.onset_s - begin_s)
        shifted = replace(note, onset_s=note.onset_s + slip_s)
        if at == spots.wrong:
            shifted = replace(shifted, pitch_midi=note.pitch_midi + _wrong_by(line[at], study))
        if at in spots.bent:
            travel = Gesture(start=Start.BENT, from_cents=FLAT_CENTS - 100 * BEND_SEMITONES, travel_s=BEND_S)
            shifted = replace(shifted, gesture=travel, handed_on=False)
        played[at] = shifted
    return played


def _wrong_by(note: Note, study: Study) -> int:
    """A semitone up, or down where that would be another note of the line."""
    known = {other.pitch.midi for other in study.score.part(PartRole.LEAD).notes}
    return -1 if note.pitch.midi + 1 in known else 1


def _rendered(played: dict[int, TimedNote], spots: _Spots, plan: LessonPlan) -> np.ndarray:
    """Flat bends come from a guitar tuned lower, since a gesture always arrives."""
    voice, seed = Voice(str(plan.lesson.lead_voice)), plan.lesson.seed
    length = round((max(note.onset_s + note.duration_s for note in played.values()) + TAIL_S) * SAMPLE_RATE)
    a4_hz = plan.lesson.sound.a4_hz
    flat = Models(a4_hz * exp2(-FLAT_CENTS / 1200.0))
    true_notes = [note for at, note in played.items() if at not in spots.bent]
    flat_notes = [note for at, note in played.items() if at in spots.bent]
    return render_notes(true_notes, voice, length=length, seed=seed, sounds=Models(a4_hz)) + render_notes(
        flat_notes, voice, length=length, seed=seed, sounds=flat
    )


def _slips(spots: _Spots, line: Sequence[Note], measures: Sequence[Measure]) -> Iterator[Slip]:
    def slip(kind: SlipKind, notes: Sequence[int], size: float, unit: str) -> Slip:
        bars = [_bar(line[at].onset, measures) for at in notes]
        return Slip(kind=kind, notes=tuple(notes), bars=(min(bars), max(bars)), size=size, unit=unit)

    yield slip(SlipKind.RUSHED, spots.rushed, 100.0 * RUSH, "%")
    yield slip(SlipKind.WRONG_NOTE, (spots.wrong,), 1.0, "semitone")
    yield slip(SlipKind.LEFT_OUT, (spots.left_out,), 1.0, "note")
    yield slip(SlipKind.FLAT_BENDS, spots.bent, float(FLAT_CENTS), "cents")
    yield slip(SlipKind.UNEVEN, range(len(line)), 1000.0 * UNEVEN_S, "ms")


def _bar(time: Fraction, measures: Sequence[Measure]) -> int:
    return next(measure.number for measure in measures if measure.onset <= time < measure.end)

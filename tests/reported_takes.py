"""Takes as the ears would hand them over, played from the demonstration lesson's study, and their reports.

The player comes late on one note, bends one, doubts one and mutes one. Nothing is
listened to: tones stand in for the sound.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from phrasewright.app import review as reviewing
from phrasewright.app.assignment import Assignment, assignment_of
from phrasewright.app.fingering import wished_instrument
from phrasewright.app.review import Review, review, review_in_bars
from phrasewright.app.take_report import report_content
from phrasewright.engrave.report.content import ReportContent
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.heard import HeardNote, HeardTechnique, Hearing, Mark
from phrasewright.score.model import PartRole

OFFSET_S, LATE_S = 4.0, 0.12
LATE, BENT, DOUBTED, DEAD = 3, 5, 7, 9
HOSTILE = "<script>alert(1)</script> & \"Bar\" 'x'"


@cache
def demo_assignment(exercise: str | None = "study-1") -> Assignment:
    return assignment_of(Path(str(resources.files("phrasewright.lesson") / "demo.toml")), exercise=exercise)


def heard_study(assignment: Assignment, rounds: int = 1) -> Hearing:
    """The study as heard, one round after the other."""
    line = demo_assignment().line
    assert line is not None
    tempo_bpm = assignment.tempos_bpm[0]
    clock = assignment.performance(tempo_bpm).over(line.measures)
    round_s = clock.seconds_at(line.end)
    notes = []
    for number, note in enumerate(line.part(PartRole.LEAD).notes * rounds):
        turn, own = divmod(number, len(line.part(PartRole.LEAD).notes))
        late_s = LATE_S if number == LATE else 0.0
        marks = {
            BENT: (Mark(technique=HeardTechnique.BEND, cents=200.0),),
            DEAD: (Mark(technique=HeardTechnique.DEAD),),
        }
        notes.append(
            HeardNote(
                onset_s=OFFSET_S + turn * round_s + clock.seconds_at(note.onset) + late_s,
                offset_s=OFFSET_S + turn * round_s + clock.seconds_at(note.end) + late_s,
                pitch_midi=float(note.pitch.midi),
                curve_cents=(0.0, float("nan"), 5.0, -5.0),
                marks=marks.get(number, ()),
                confidence=0.3 if own == DOUBTED else 0.98,
            )
        )
    return Hearing(notes=tuple(notes), length_s=notes[-1].offset_s + 1.0, tuning_cents=0.0)


def sound_of(hearing: Hearing) -> np.ndarray:
    """A short tone for every note."""
    audio = np.zeros(round(hearing.length_s * RATE_HZ), dtype=np.float32)
    tone = (0.4 * np.sin(np.arange(RATE_HZ // 8) * 2 * np.pi * 440 / RATE_HZ)).astype(np.float32)
    for note in hearing.notes:
        at = round(note.onset_s * RATE_HZ)
        audio[at : at + len(tone)] += tone
    return np.clip(audio, -1.0, 1.0)


def reviewed(
    exercise: str | None = "study-1", *, rounds: int = 1, remarks: tuple[str, ...] = ()
) -> tuple[Review, np.ndarray]:
    """A take of the lesson."""
    assignment = demo_assignment(exercise)
    hearing = heard_study(assignment, rounds)
    audio = sound_of(hearing)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reviewing, "hear", lambda _audio: hearing)
        return review_in_bars(audio, assignment, given_offset_s=OFFSET_S, remarks=remarks), audio


def reviewed_alone(hearing: Hearing) -> tuple[Review, np.ndarray]:
    """A take without a lesson."""
    audio = sound_of(hearing)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reviewing, "hear", lambda _audio: hearing)
        return review(audio, wished_instrument("guitar", tuning=None, capo=0)), audio


def lesson_report(title: str = "Monday", **wish: object) -> ReportContent:
    told, audio = reviewed(**wish)  # type: ignore[arg-type]
    return report_content(told, audio, name=title)


def free_report(title: str = "Monday") -> ReportContent:
    told, audio = reviewed_alone(heard_study(demo_assignment()))
    return report_content(told, audio, name=title)

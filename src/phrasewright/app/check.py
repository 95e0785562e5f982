"""Check a lesson without building it: every problem, or what would be taught."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from phrasewright.app.facts import lesson_facts
from phrasewright.app.planning import plan_source
from phrasewright.app.sounds import audio_wish
from phrasewright.app.source import read_source
from phrasewright.compose.study import Study
from phrasewright.errors import LessonError, OutputError, PhrasewrightError, Problem
from phrasewright.melody.key_profile import key_of_chart
from phrasewright.score.chart import Chart
from phrasewright.sound.events import SAMPLE_RATE


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A lesson file looked at. facts: name and value, empty when there are problems."""

    path: Path
    title: str
    facts: tuple[tuple[str, str], ...]
    problems: tuple[Problem, ...]

    @property
    def exit_code(self) -> int:
        """0 when it can be built."""
        return LessonError.exit_code if self.problems else 0


def check_lesson(path: Path) -> Checked:
    """Read and plan one lesson file. Raises OutputError when the file cannot be read."""
    try:
        source = read_source(path)
        plan = plan_source(source)
        audio_wish(plan.lesson.sound, source.font, sample_rate=SAMPLE_RATE)  # whether its SoundFont is there
    except LessonError as error:
        return Checked(path=path, title="", facts=(), problems=error.problems)
    except OutputError:
        raise
    except PhrasewrightError as error:
        return Checked(path=path, title="", facts=(), problems=(Problem(what=error.message, hint=error.hint),))
    motifs = ", ".join(f"{item.letter} ({item.motif.degrees_text})" for item in plan.shelf.items)
    facts = (
        *lesson_facts(plan),
        *_key(plan.lesson.chart),
        ("Motifs", motifs),
        ("Exercises", ", ".join(exercise.title for exercise in plan.exercises)),
        *((study.score.title, _study_words(study)) for study in plan.studies),
        ("Tempos", ", ".join(f"{tempo:g}" for tempo in plan.lesson.tempos_bpm)),
    )
    return Checked(path=path, title=plan.lesson.title, facts=facts, problems=())


def _key(chart: Chart) -> tuple[tuple[str, str], ...]:
    found = key_of_chart(chart)
    return () if found is None else (("Chords", f"sound most like {found.key} (correlation {found.correlation:.2f})"),)


def _study_words(study: Study) -> str:
    phrases = " ".join(placed.letter for placed in study.phrases)
    return f"{len(study.score.measures)} bars, {phrases}, difficulty {study.difficulty.level:.1f}"

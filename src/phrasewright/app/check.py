"""Check a lesson without building it: every problem, or what would be taught."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from phrasewright.app.facts import lesson_facts
from phrasewright.app.planning import plan_source
from phrasewright.app.source import LessonSource, read_source
from phrasewright.compose.study import Study
from phrasewright.errors import LessonError, NoteFileError, OutputError, PhrasewrightError, Problem
from phrasewright.lesson.model import BandSound, Lesson
from phrasewright.melody.key_profile import key_of_chart
from phrasewright.score.chart import Chart


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
        _check_sound(plan.lesson, source)
    except LessonError as error:
        return Checked(path=path, title="", facts=(), problems=error.problems)
    except OutputError:
        raise
    except NoteFileError as error:  # the taps or the beats of its recording
        return Checked(path=path, title="", facts=(), problems=(_beside(error),))
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


def _beside(error: NoteFileError) -> Problem:
    """The problem of a file beside the lesson, with its own place."""
    line = "" if error.problem.line is None else f", line {error.problem.line}"
    return Problem(what=f"{Path(error.file).name}{line}: {error.problem.what}", hint=error.problem.hint)


def _check_sound(lesson: Lesson, source: LessonSource) -> None:
    """Look at the files that a lesson's sound comes from. Raises PhrasewrightError."""
    if lesson.sound.source is BandSound.SAMPLED:
        from phrasewright.app.sounds import audio_wish  # heavy, as what follows: loaded only when needed
        from phrasewright.sound.events import SAMPLE_RATE

        audio_wish(lesson.sound, source.font, sample_rate=SAMPLE_RATE)
    if lesson.recording is not None:
        from phrasewright.app.recording import OwnTrack

        OwnTrack(lesson, lesson.recording, source).check()


def _key(chart: Chart) -> tuple[tuple[str, str], ...]:
    found = key_of_chart(chart)
    return () if found is None else (("Chords", f"sound most like {found.key} (correlation {found.correlation:.2f})"),)


def _study_words(study: Study) -> str:
    phrases = " ".join(placed.letter for placed in study.phrases)
    return f"{len(study.score.measures)} bars, {phrases}, difficulty {study.difficulty.level:.1f}"

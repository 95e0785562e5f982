"""From a lesson file's bytes to its plan; nothing is drawn or played."""

from __future__ import annotations

from phrasewright.app.source import LessonSource
from phrasewright.lesson.plan import LessonPlan, plan
from phrasewright.lesson.read import decode_lesson, read_lesson


def plan_source(source: LessonSource) -> LessonPlan:
    """Read and plan a lesson. Raises LessonError with every problem."""
    file = str(source.path)
    text = decode_lesson(source.content, file)
    return plan(read_lesson(text, file, grooves=source.grooves, beside=source.recording), file=file, text=text)

"""Errors meant for people: what is wrong, where, and how to mend it.

Programming mistakes raise ``ValueError`` or ``TypeError``. Everything a teacher or student can cause
raises a ``PhrasewrightError``; the command line prints it and ends with the error's exit code, without
a traceback.

    PhrasewrightError
    ├── LessonError      one or more problems in a lesson file
    ├── NoteFileError    a file of notes, taps or beats that cannot be understood
    ├── RecordingError   a recording that cannot be used
    ├── TapsError, BeatsError   taps without a beat, beats that cannot lie there
    ├── GrooveError      a groove that does not exist, does not fit, or whose file has mistakes
    ├── SoundError       sampled sound without its library or font
    ├── TrackError, ShelfError, RuleConflictError   wishes that cannot be met
    ├── NeckError        a position or fingering that no hand can play, with the nearest that one can
    └── OutputError      a file or folder that could not be written
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


class PhrasewrightError(Exception):
    """Base of all errors shown to people.

    message: what is wrong, one sentence. hint: how to mend it, one sentence or empty.
    """

    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong in a text file: where (1-based line and column), what, how to mend it."""

    what: str
    hint: str = ""
    where: str = ""  # the key, e.g. "band.tempos[1]"
    line: int | None = None
    column: int | None = None

    def render(self, file: str) -> str:
        """``file:line:column: what (where). hint``: the form editors and terminals turn into a link."""
        place = ":".join(str(part) for part in (file, self.line, self.column) if part is not None)
        key = f" [{self.where}]" if self.where else ""
        hint = f"\n    {self.hint}" if self.hint else ""
        return f"{place}: {self.what}{key}{hint}"


class LessonError(PhrasewrightError):
    """A lesson file that cannot be built; carries every problem found, not only the first."""

    exit_code: ClassVar[int] = 2

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        super().__init__(f"{file}: {count}")
        self.file = file
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(problem.render(self.file) for problem in self.problems)


class NoteFileError(PhrasewrightError):
    """A file of notes that cannot be understood, with the first problem found."""

    exit_code: ClassVar[int] = 2

    def __init__(self, file: str, problem: Problem) -> None:
        super().__init__(problem.what, hint=problem.hint)
        self.file = file
        self.problem = problem

    def __str__(self) -> str:
        return self.problem.render(self.file)


class NeckError(PhrasewrightError):
    """A wish the neck or the hand cannot meet; ``alternatives`` names the nearest that can be met."""

    exit_code: ClassVar[int] = 2

    def __init__(self, message: str, *, alternatives: tuple[str, ...] = ()) -> None:
        hint = f"Nearest playable: {'; '.join(alternatives)}." if alternatives else ""
        super().__init__(message, hint=hint)
        self.alternatives = alternatives


class OutputError(PhrasewrightError):
    """A file or folder that could not be written or read."""

    exit_code: ClassVar[int] = 3

"""What goes to and from the teacher's desk, typed for the OpenAPI document."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from phrasewright.app.desk.view import PlanOnDesk, plan_on_desk
from phrasewright.app.lesson_folder import LessonFolder, LessonSummary, OpenLesson
from phrasewright.app.reading import PlacedProblem, Reading

Word = Annotated[str, Field(min_length=1, max_length=120)]
PathPart = str | int
OneValue = str | bool | int | float


class Asked(BaseModel):
    """Base of what a browser sends: no unknown keys, no coercion."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class AtRevision(Asked):
    """Something done to a lesson as it was last seen."""

    revision: int = Field(ge=1, le=2**53)


class ChangeAsked(Asked):
    """One key of the lesson file and its new value; null takes it out, so that the usual holds."""

    path: list[PathPart] = Field(min_length=2, max_length=4)
    value: OneValue | list[OneValue] | dict[str, OneValue] | None = None


class ChangesAsked(AtRevision):
    """Keys to change together. words: what is done, for undoing: ``tempo``."""

    changes: list[ChangeAsked] = Field(min_length=1, max_length=40)
    words: Word


class CheckAsked(Asked):
    """Keys as they are being typed, to be looked at and not saved."""

    changes: list[ChangeAsked] = Field(min_length=1, max_length=40)


class TextAsked(AtRevision):
    """The whole lesson as text."""

    text: str = Field(max_length=1_000_000)


class NewLesson(Asked):
    """A lesson to begin with."""

    title: Word
    root: str = Field(default="A", max_length=4)
    scale: str = Field(default="minor-pentatonic", max_length=60)
    instrument: str = Field(default="guitar", max_length=60)
    style: str = Field(default="box", max_length=60)
    meter: str = Field(default="4/4", max_length=8)


class Title(Asked):
    """A lesson's new title."""

    title: Word


class LetterAsked(AtRevision):
    """A motif of the shelf by its letter."""

    letter: str = Field(pattern="^[A-Z]$")


class LeftOutAsked(AtRevision):
    """A motif that is left out, as the file names it."""

    text: str = Field(max_length=80)


class MotifDrawn(AtRevision):
    """Notes taken on the neck, in order: ``string-fret``."""

    places: list[Annotated[str, Field(pattern=r"^\d{1,2}-\d{1,2}$")]] = Field(min_length=1, max_length=8)
    name: str = Field(default="", max_length=40)


class AgainAsked(AtRevision):
    """Bars of a study (from 1) to draw anew."""

    study: int = Field(ge=1, le=12)
    bars: list[Annotated[int, Field(ge=1, le=128)]] = Field(min_length=1, max_length=128)


class Taps(Asked):
    """When the key went down and up, in quarter notes from beat 1."""

    meter: str = Field(max_length=8)
    onsets: list[Annotated[float, Field(ge=-1.0, le=200.0)]] = Field(min_length=1, max_length=64)
    ends: list[Annotated[float, Field(ge=-1.0, le=400.0)]] = Field(min_length=1, max_length=64)


class TappedCount(BaseModel):
    """A count as it was tapped."""

    text: str
    notes: int


class ProblemOnDesk(BaseModel):
    """One thing wrong. path: the key, empty = the whole lesson; at: letter of a text, from 0; line: in the file."""

    what: str
    hint: str
    path: list[PathPart]
    at: int | None
    line: int | None


class LessonRow(BaseModel):
    """A lesson in the list. words: scale and place; problems: how many; handed_out: there is a pack."""

    id: str
    title: str
    name: str
    words: str
    problems: int


class LessonList(BaseModel):
    """All lessons, and what of the list can be undone and redone, "" = nothing."""

    lessons: list[LessonRow]
    undo: str
    redo: str


class LessonView(BaseModel):
    """A lesson on the desk.

    undo, redo: what they would do, "" = nothing; saved: the lesson's file holds this state; values: by section and
    key, usual ones included; written: keys that stand in the file, ``band.chart``; plan: of this state, or of the last
    one without mistakes when plan_is_old.
    """

    id: str
    title: str
    name: str
    revision: int
    undo: str
    redo: str
    saved: bool
    problems: list[ProblemOnDesk]
    values: dict[str, dict[str, Any]]
    written: list[str]
    plan: PlanOnDesk | None
    plan_is_old: bool


class Revision(BaseModel):
    """The state a lesson is in."""

    revision: int


class Checked(BaseModel):
    """What would be wrong, and the chords of the chart where it can be read."""

    problems: list[ProblemOnDesk]
    plan: PlanOnDesk | None


class SystemView(BaseModel):
    """One line of music."""

    svg: str
    first_bar: int
    last_bar: int


class Systems(BaseModel):
    """A piece in notation and tablature. prefix: what the ids of its notes begin with, before n and number."""

    revision: int
    prefix: str
    systems: list[SystemView]


def lesson_row(lesson: LessonSummary) -> LessonRow:
    """A lesson in the list."""
    return LessonRow(**asdict(lesson))


def lesson_view(lesson: OpenLesson, folder: LessonFolder) -> LessonView:
    """A lesson on the desk; where it has mistakes, with what it taught before them."""
    reading = lesson.reading
    shown = reading if reading.plan else folder.last_good(lesson.known.id)
    plan = shown.plan if shown else None
    return LessonView(
        id=lesson.known.id,
        title=reading.title or lesson.known.name,
        name=lesson.known.name,
        revision=lesson.known.revision,
        undo=lesson.known.undo,
        redo=lesson.known.redo,
        saved=lesson.saved,
        problems=[problem_on_desk(one) for one in reading.problems],
        values={name: dict(section) for name, section in reading.values.items()},
        written=sorted(".".join(path) for path in reading.written),
        plan=None if plan is None else plan_on_desk(plan),
        plan_is_old=plan is not None and reading.plan is None,
    )


def checked_view(reading: Reading) -> Checked:
    """What a reading that is not saved says."""
    return Checked(
        problems=[problem_on_desk(one) for one in reading.problems],
        plan=None if reading.plan is None else plan_on_desk(reading.plan),
    )


def problem_on_desk(problem: PlacedProblem) -> ProblemOnDesk:
    """A problem for the browser."""
    return ProblemOnDesk(
        what=problem.what, hint=problem.hint, path=list(problem.path), at=problem.at, line=problem.line
    )

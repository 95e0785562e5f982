"""What each page of the studio shows: one model for each template, which it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from phrasewright.course.people import Student
    from phrasewright.web.answers import Refusal
    from phrasewright.web.desk_form import Field


@dataclass(frozen=True, slots=True)
class PageModel:
    """Base of all pages. template: below ``templates/``."""

    template: ClassVar[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonsPage(PageModel):
    """The teacher's lessons, and a new one. roots: notes that a scale may begin on."""

    template: ClassVar[str] = "lessons.html"
    fields: Mapping[str, Field]
    roots: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonHead:
    """A lesson by id and title."""

    id: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskPage(PageModel):
    """The desk of one lesson; what it holds comes as ``LessonView``."""

    template: ClassVar[str] = "desk.html"
    fields: Mapping[str, Field]
    lesson: LessonHead


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRow:
    """A lesson that was handed out, and how many takes a student has there."""

    id: str
    title: str
    takes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomsPage(PageModel):
    """A student's lessons."""

    template: ClassVar[str] = "rooms.html"
    rooms: tuple[RoomRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudentsPage(PageModel):
    """The class. just_removed: who can be taken back at once; refused, typed: a name that was not taken, and why."""

    template: ClassVar[str] = "students.html"
    students: tuple[Student, ...]
    removed: tuple[Student, ...]
    just_removed: Student | None
    refused: str
    typed: str
    is_shared: bool
    longest: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkPage(PageModel):
    """A student's new link, shown once."""

    template: ClassVar[str] = "link.html"
    student: Student
    link: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignInPage(PageModel):
    """The teacher's sign-in. next: the page after it; refused: why the last try was not taken."""

    template: ClassVar[str] = "sign-in.html"
    next: str
    refused: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComePage(PageModel):
    """Whom a link is for."""

    template: ClassVar[str] = "come.html"
    student: Student
    secret: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLinkPage(PageModel):
    """A link that is not good."""

    template: ClassVar[str] = "no-link.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainPage(PageModel):
    """A page that asks for itself again, with the cookie that it was just given."""

    template: ClassVar[str] = "again.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedPage(PageModel):
    """Why something was not done, for people."""

    template: ClassVar[str] = "refused.html"
    heading: str
    refusal: Refusal

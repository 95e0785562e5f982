"""Students and their links: pages for the teacher, and the same as an API."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Depends, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import RedirectResponse, Response

from phrasewright.course.people import (
    LONGEST_NAME,
    Student,
    StudentNameError,
    find_student,
    invite,
    make_student,
    remove_student,
    removed_students,
    rename_student,
    restore_student,
    revoke,
    students,
)
from phrasewright.web.answers import RefusedError
from phrasewright.web.forms import TheForm
from phrasewright.web.guard.links import link_to
from phrasewright.web.guard.names import StudentId
from phrasewright.web.guard.sharing import Sharing, TheSharing
from phrasewright.web.guard.who import teacher_only
from phrasewright.web.page_models import LinkPage, StudentsPage
from phrasewright.web.pages import page
from phrasewright.web.studio import Studio, TheStudio

pages = APIRouter(include_in_schema=False, dependencies=[Depends(teacher_only)])
router = APIRouter(prefix="/api/students", tags=["students"], dependencies=[Depends(teacher_only)])


class StudentModel(BaseModel):
    """A student. invited_at: when the link that is good now was made."""

    id: str
    name: str
    made_at: datetime
    invited_at: datetime | None = None


class StudentName(BaseModel):
    """The name of a student."""

    model_config = ConfigDict(extra="forbid")
    name: str = Field(min_length=1, max_length=4 * LONGEST_NAME, examples=["Maya"])


class LinkModel(BaseModel):
    """A student's link. It is told once."""

    link: str


@router.get("")
def list_students(studio: TheStudio) -> list[StudentModel]:
    """Every student, by name."""
    return [_model(student) for student in students(studio.engine)]


@router.post("", status_code=201)
def add_student(studio: TheStudio, sharing: TheSharing, asked: StudentName) -> StudentModel:
    """A new student."""
    return _model(make_student(studio.engine, asked.name, now=sharing.now()))


@router.patch("/{student_id}")
def change_student(studio: TheStudio, student_id: StudentId, asked: StudentName) -> StudentModel:
    """Give a student another name."""
    _there(rename_student(studio.engine, student_id, asked.name))
    return _model(_found(studio, student_id))


@router.delete("/{student_id}", status_code=204)
def drop_student(studio: TheStudio, sharing: TheSharing, student_id: StudentId) -> None:
    """Remove a student; ``restore`` takes it back."""
    _there(remove_student(studio.engine, student_id, now=sharing.now()))


@router.post("/{student_id}/restore")
def take_student_back(studio: TheStudio, student_id: StudentId) -> StudentModel:
    """Take a removal back."""
    _there(restore_student(studio.engine, student_id))
    return _model(_found(studio, student_id))


@router.post("/{student_id}/invitation", status_code=201)
def make_link(request: Request, studio: TheStudio, sharing: TheSharing, student_id: StudentId) -> LinkModel:
    """A new link for a student; the old one ends, and whoever came in by it is signed out."""
    return LinkModel(link=_new_link(request, studio, sharing, student_id))


@router.delete("/{student_id}/invitation", status_code=204)
def end_link(studio: TheStudio, student_id: StudentId) -> None:
    """End a student's link, and sign out whoever came in by it."""
    _there(revoke(studio.engine, student_id))


@pages.get("/students")
def students_page(request: Request, studio: TheStudio, sharing: TheSharing, removed: str = "") -> Response:
    """The list of students. removed: id of the one whose removal can be undone at the top."""
    return _page(request, studio, sharing, removed=removed)


@pages.post("/students")
def add_by_form(request: Request, studio: TheStudio, sharing: TheSharing, form: TheForm) -> Response:
    """A new student."""
    try:
        make_student(studio.engine, form.get("name", ""), now=sharing.now())
    except StudentNameError as error:
        return _page(request, studio, sharing, status=422, refused=str(error), typed=form.get("name", ""))
    return _back()


@pages.post("/students/{student_id}/name")
def rename_by_form(
    request: Request, studio: TheStudio, sharing: TheSharing, student_id: StudentId, form: TheForm
) -> Response:
    """Another name for a student."""
    try:
        _there(rename_student(studio.engine, student_id, form.get("name", "")))
    except StudentNameError as error:
        return _page(request, studio, sharing, status=422, refused=str(error))
    return _back()


@pages.post("/students/{student_id}/invitation")
def link_by_form(request: Request, studio: TheStudio, sharing: TheSharing, student_id: StudentId) -> Response:
    """A new link, shown on the answer and never again."""
    link = _new_link(request, studio, sharing, student_id)
    return page(request, LinkPage(student=_found(studio, student_id), link=link))


@pages.post("/students/{student_id}/revoke")
def revoke_by_form(studio: TheStudio, student_id: StudentId) -> Response:
    """The link ends."""
    _there(revoke(studio.engine, student_id))
    return _back()


@pages.post("/students/{student_id}/remove")
def remove_by_form(studio: TheStudio, sharing: TheSharing, student_id: StudentId) -> Response:
    """The student is removed."""
    _there(remove_student(studio.engine, student_id, now=sharing.now()))
    return RedirectResponse(f"/students?removed={student_id}", status_code=303)


@pages.post("/students/{student_id}/restore")
def restore_by_form(request: Request, studio: TheStudio, sharing: TheSharing, student_id: StudentId) -> Response:
    """The student is taken back."""
    try:
        _there(restore_student(studio.engine, student_id))
    except StudentNameError as error:
        return _page(request, studio, sharing, status=422, refused=str(error))
    return _back()


def _new_link(request: Request, studio: Studio, sharing: Sharing, student_id: str) -> str:
    if not sharing.is_shared:
        raise RefusedError(
            "Links are for other computers, and only this one can reach the studio now.",
            hint="Start it with `phrasewright serve --share`.",
            status=409,
        )
    secret = invite(studio.engine, student_id, now=sharing.now())
    if secret is None:
        raise _no_student()
    return link_to(request, f"/come/{secret}", sharing.origins)


def _page(
    request: Request,
    studio: Studio,
    sharing: Sharing,
    *,
    status: int = 200,
    removed: str = "",
    refused: str = "",
    typed: str = "",
) -> Response:
    gone = removed_students(studio.engine)
    model = StudentsPage(
        students=tuple(students(studio.engine)),
        removed=tuple(gone),
        just_removed=next((student for student in gone if student.id == removed), None),
        refused=refused,
        typed=typed,
        is_shared=sharing.is_shared,
        longest=LONGEST_NAME,
    )
    return page(request, model, status=status)


def _back() -> Response:
    return RedirectResponse("/students", status_code=303)


def _model(student: Student) -> StudentModel:
    return StudentModel(id=student.id, name=student.name, made_at=student.made_at, invited_at=student.invited_at)


def _found(studio: Studio, student_id: str) -> Student:
    student = find_student(studio.engine, student_id)
    if student is None:
        raise _no_student()
    return student


def _there(was_there: bool) -> None:
    if not was_there:
        raise _no_student()


def _no_student() -> RefusedError:
    return RefusedError("There is no such student.", status=404)

"""The teacher's pages: the list of lessons, and the desk of one."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from phrasewright.web.desk_form import fields
from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import teacher_only
from phrasewright.web.pages import page
from phrasewright.web.studio import TheStudio

router = APIRouter(include_in_schema=False, dependencies=[Depends(teacher_only)])
ROOTS = ("C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B")


@router.get("/")
def lessons(request: Request) -> Response:
    """All lessons, and a new one."""
    return page(request, "lessons.html", fields=fields(), roots=ROOTS)


@router.get("/desk/{lesson_id}/")
def desk(request: Request, lesson_id: LessonId, studio: TheStudio) -> Response:
    """The desk of one lesson."""
    lesson = studio.lessons.open(lesson_id)
    shown = {"id": lesson.known.id, "title": lesson.reading.title or lesson.known.name}
    return page(request, "desk.html", fields=fields(), lesson=shown)

"""The first pages: the teacher's list of lessons and the desk of one; a student's list of rooms."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from phrasewright.app.lesson_files import PACKS
from phrasewright.course.takes import takes_of
from phrasewright.web.desk_form import fields
from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import TheWho, somebody, teacher_only
from phrasewright.web.pack_shelf import PackShelf, ThePacks
from phrasewright.web.page_models import DeskPage, LessonHead, LessonsPage, RoomRow, RoomsPage
from phrasewright.web.pages import page
from phrasewright.web.studio import Studio, TheStudio

router = APIRouter(include_in_schema=False)
ROOTS = ("C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B")


@router.get("/", dependencies=[Depends(somebody)])
def first(request: Request, who: TheWho, studio: TheStudio, packs: ThePacks) -> Response:
    """The teacher's lessons, and a new one; a student's rooms."""
    if who.teaches:
        return page(request, LessonsPage(fields=fields(), roots=ROOTS))
    return page(request, RoomsPage(rooms=_rooms(studio, packs, who.student_id)))


@router.get("/desk/{lesson_id}/", dependencies=[Depends(teacher_only)])
def desk(request: Request, lesson_id: LessonId, studio: TheStudio) -> Response:
    """The desk of one lesson."""
    lesson = studio.lessons.open(lesson_id)
    head = LessonHead(id=lesson.known.id, title=lesson.reading.title or lesson.known.name)
    return page(request, DeskPage(fields=fields(), lesson=head))


def _rooms(studio: Studio, packs: PackShelf, student_id: str) -> tuple[RoomRow, ...]:
    """Lessons that have been handed out, by title, with how many takes the student has there."""
    found: list[RoomRow] = []
    for lesson_id, path in studio.lessons.files.places().items():
        manifest = packs.manifest(studio.folder / PACKS / path.stem)
        if manifest is not None:
            takes = len(takes_of(studio.engine, lesson_id, student_id=student_id))
            found.append(RoomRow(id=lesson_id, title=manifest.title, takes=takes))
    return tuple(sorted(found, key=lambda room: room.title.casefold()))

"""The lessons as a whole: list, make, copy, rename, remove, undo. For the teacher."""

from __future__ import annotations

from fastapi import APIRouter, Depends

from phrasewright.app.lesson_folder import OpenLesson
from phrasewright.app.start import LessonWish, starting_text
from phrasewright.course import moves
from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import teacher_only
from phrasewright.web.lesson_models import LessonList, LessonRow, NewLesson, Title, lesson_row
from phrasewright.web.studio import Studio, TheStudio

router = APIRouter(prefix="/api", tags=["lessons"], dependencies=[Depends(teacher_only)])


@router.get("/lessons")
def lessons(studio: TheStudio) -> LessonList:
    """Every lesson, by title."""
    return _list(studio)


@router.post("/lessons", status_code=201)
def make(asked: NewLesson, studio: TheStudio) -> LessonRow:
    """Make a lesson of a scale, ready to be changed."""
    title = _title(asked.title)
    wish = LessonWish(
        title=title,
        root=asked.root,
        scale=asked.scale,
        instrument=asked.instrument,
        style=asked.style,
        meter=asked.meter,
    )
    return _row(studio, studio.moves.make(title, starting_text(wish)))


@router.post("/lessons/{lesson_id}/copy", status_code=201)
def copy(lesson_id: LessonId, studio: TheStudio) -> LessonRow:
    """Copy a lesson under a title of its own."""
    return _row(studio, studio.moves.copy(lesson_id))


@router.patch("/lessons/{lesson_id}")
def rename(lesson_id: LessonId, asked: Title, studio: TheStudio) -> LessonRow:
    """Give a lesson another title, and its file the name that goes with it."""
    return _row(studio, studio.moves.rename(lesson_id, _title(asked.title)))


@router.delete("/lessons/{lesson_id}")
def remove(lesson_id: LessonId, studio: TheStudio) -> LessonList:
    """Remove a lesson; the list's undo brings it back."""
    studio.moves.remove(lesson_id)
    return _list(studio)


@router.post("/lessons/undo")
def undo(studio: TheStudio) -> LessonList:
    """Undo what was last made, copied, renamed or removed."""
    studio.moves.undo()
    return _list(studio)


@router.post("/lessons/redo")
def redo(studio: TheStudio) -> LessonList:
    """Do again what was undone last."""
    studio.moves.redo()
    return _list(studio)


def _list(studio: Studio) -> LessonList:
    undo, redo = moves.last_move(studio.engine), moves.next_move(studio.engine)
    return LessonList(
        lessons=[lesson_row(one) for one in studio.lessons.summaries()],
        undo=undo.words if undo else "",
        redo=redo.words if redo else "",
    )


def _row(studio: Studio, lesson: OpenLesson) -> LessonRow:
    return lesson_row(studio.lessons.summary_of(lesson.known))


def _title(text: str) -> str:
    """A title as the file will hold it. Raises RefusedError for one that is empty or cannot be printed."""
    title = " ".join(text.split())
    if not title:
        raise RefusedError("The title is empty.", hint="Write at least one word.", status=422)
    if not title.isprintable():
        raise RefusedError("The title has a letter that cannot be printed.", hint="Write it anew.", status=422)
    return title

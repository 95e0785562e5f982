"""One lesson on the teacher's desk: look, change, undo, check while typing, hear, engrave."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query

from phrasewright.app.desk import deeds
from phrasewright.app.desk.deeds import Deed
from phrasewright.app.desk.engraving import Sheet, engrave_piece
from phrasewright.app.lesson_folder import OpenLesson
from phrasewright.app.reading import Reading
from phrasewright.lesson.edit import Change
from phrasewright.lesson.plan import LessonPlan
from phrasewright.neck.instrument import StringFret
from phrasewright.theory.meter import Meter
from phrasewright.theory.tapped_count import count_from_taps
from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import teacher_only
from phrasewright.web.lesson_models import (
    AgainAsked,
    AtRevision,
    ChangeAsked,
    ChangesAsked,
    CheckAsked,
    Checked,
    LeftOutAsked,
    LessonView,
    LetterAsked,
    MotifDrawn,
    Revision,
    Systems,
    SystemView,
    TappedCount,
    Taps,
    TextAsked,
    checked_view,
    lesson_view,
)
from phrasewright.web.studio import Studio, TheStudio

router = APIRouter(prefix="/api", tags=["desk"], dependencies=[Depends(teacher_only)])
PieceId = Annotated[str, Path(pattern=r"^(study|exercise)-[0-9]{1,3}$")]


@router.get("/lessons/{lesson_id}")
def look(lesson_id: LessonId, studio: TheStudio) -> LessonView:
    """A lesson as it stands."""
    return lesson_view(studio.lessons.open(lesson_id), studio.lessons)


@router.post("/lessons/{lesson_id}/changes")
def change(lesson_id: LessonId, asked: ChangesAsked, studio: TheStudio) -> LessonView:
    """Change keys of a lesson together; it is saved at once. 409 when it has been changed elsewhere since."""
    changed = studio.lessons.change(lesson_id, asked.revision, _changes(asked.changes), asked.words)
    return lesson_view(changed, studio.lessons)


@router.post("/lessons/{lesson_id}/check")
def check(lesson_id: LessonId, asked: CheckAsked, studio: TheStudio) -> Checked:
    """What a change that is still being typed would say; nothing is saved."""
    return checked_view(studio.lessons.check(lesson_id, _changes(asked.changes)))


@router.post("/lessons/{lesson_id}/undo")
def undo(lesson_id: LessonId, asked: AtRevision, studio: TheStudio) -> LessonView:
    """One step back."""
    return lesson_view(studio.lessons.undo(lesson_id, asked.revision), studio.lessons)


@router.post("/lessons/{lesson_id}/redo")
def redo(lesson_id: LessonId, asked: AtRevision, studio: TheStudio) -> LessonView:
    """One step forward again."""
    return lesson_view(studio.lessons.redo(lesson_id, asked.revision), studio.lessons)


@router.put("/lessons/{lesson_id}/text")
def put_text(lesson_id: LessonId, asked: TextAsked, studio: TheStudio) -> LessonView:
    """Replace the whole text."""
    changed = studio.lessons.replace_text(lesson_id, asked.revision, asked.text, "edit the text")
    return lesson_view(changed, studio.lessons)


@router.get("/lessons/{lesson_id}/text")
def get_text(lesson_id: LessonId, studio: TheStudio) -> TextAsked:
    """The whole text and its revision."""
    known = studio.lessons.open(lesson_id).known
    return TextAsked(revision=known.revision, text=known.head.text)


# ---- motifs and bars


@router.post("/lessons/{lesson_id}/motifs/pin")
def pin(lesson_id: LessonId, asked: LetterAsked, studio: TheStudio) -> LessonView:
    """Have a motif stay on the shelf."""
    return _done(studio, lesson_id, asked, lambda plan: deeds.pin(plan, asked.letter))


@router.post("/lessons/{lesson_id}/motifs/unpin")
def unpin(lesson_id: LessonId, asked: LetterAsked, studio: TheStudio) -> LessonView:
    """Take a pinned motif off the shelf."""
    return _done(studio, lesson_id, asked, lambda plan: deeds.unpin(plan, asked.letter))


@router.post("/lessons/{lesson_id}/motifs/reject")
def reject(lesson_id: LessonId, asked: LetterAsked, studio: TheStudio) -> LessonView:
    """Never choose a motif again."""
    return _done(studio, lesson_id, asked, lambda plan: deeds.reject(plan, asked.letter))


@router.post("/lessons/{lesson_id}/motifs/allow")
def allow(lesson_id: LessonId, asked: LeftOutAsked, studio: TheStudio) -> LessonView:
    """Let a motif be chosen again."""
    return _done(studio, lesson_id, asked, lambda plan: deeds.allow(plan, asked.text))


@router.post("/lessons/{lesson_id}/motifs/draw")
def draw(lesson_id: LessonId, asked: MotifDrawn, studio: TheStudio) -> LessonView:
    """Put a motif on the shelf that was drawn on the neck."""
    places = [StringFret(*map(int, place.split("-"))) for place in asked.places]
    return _done(studio, lesson_id, asked, lambda plan: deeds.draw_motif(plan, places, " ".join(asked.name.split())))


@router.post("/lessons/{lesson_id}/studies/again")
def again(lesson_id: LessonId, asked: AgainAsked, studio: TheStudio) -> LessonView:
    """Draw bars of a study anew; the others stay."""
    bars = [bar - 1 for bar in asked.bars]
    return _done(studio, lesson_id, asked, lambda plan: deeds.draw_again(plan, asked.study - 1, bars))


@router.post("/taps")
def taps(asked: Taps) -> TappedCount:
    """The count that was tapped."""
    if len(asked.onsets) != len(asked.ends):
        raise RefusedError("Every tap needs its end.", status=422)
    try:
        count = count_from_taps(asked.onsets, asked.ends, Meter.parse(asked.meter))
    except ValueError as error:
        raise RefusedError(f"These taps are no count: {error}.", hint="Tap it once more.", status=422) from None
    return TappedCount(text=count.text, notes=len(count.strokes))


# ---- to see and hear


@router.get("/lessons/{lesson_id}/pieces/{piece_id}")
def systems(
    lesson_id: LessonId, piece_id: PieceId, studio: TheStudio, sheet: Annotated[Sheet, Query()] = Sheet.WIDE
) -> Systems:
    """A study or exercise in notation and tablature."""
    shown = _shown(studio, lesson_id)
    found = engrave_piece(shown.plan, piece_id, sheet)
    if found is None:
        raise RefusedError("There is no such piece.", status=404)
    return Systems(
        revision=shown.lesson.known.revision,
        prefix=found.prefix,
        systems=[SystemView(svg=one.svg, first_bar=one.first_bar, last_bar=one.last_bar) for one in found.systems],
    )


@router.get("/lessons/{lesson_id}/sound")
def sound(lesson_id: LessonId, studio: TheStudio) -> dict[str, Any]:
    """Motifs and studies as the player takes them, with their clips."""
    from phrasewright.app.desk.sound import desk_sound  # heavy: loaded when it is first asked for

    return desk_sound(_shown(studio, lesson_id).reading)


@router.get("/lessons/{lesson_id}/notes")
def notes(lesson_id: LessonId, studio: TheStudio) -> dict[str, Any]:
    """The clip of every single pitch of the neck."""
    from phrasewright.app.desk.sound import note_sound  # heavy

    return note_sound(_shown(studio, lesson_id).reading)


@router.get("/lessons/{lesson_id}/revision")
def revision(lesson_id: LessonId, studio: TheStudio) -> Revision:
    """Which state a lesson is in, a change of its file by another program taken in; 0 when it is not there."""
    return Revision(revision=studio.lessons.revision_of(lesson_id))


def _changes(asked: list[ChangeAsked]) -> tuple[Change, ...]:
    try:
        return tuple(Change(path=tuple(one.path), value=one.value) for one in asked)
    except ValueError as error:
        raise RefusedError(f"This cannot be changed: {error}.", status=422) from None


def _done(studio: Studio, lesson_id: str, asked: AtRevision, deed: Callable[[LessonPlan], Deed]) -> LessonView:
    """Do something that needs the plan, at the revision that was seen."""
    lesson = studio.lessons.open(lesson_id)
    if lesson.reading.plan is None:
        raise RefusedError("Mend what is wrong with the lesson first.", status=422)
    done = deed(lesson.reading.plan)
    changed = studio.lessons.change(lesson_id, asked.revision, done.changes, done.words)
    return lesson_view(changed, studio.lessons)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """A lesson, and the reading of it that is shown, with its plan: the last one that can be built."""

    lesson: OpenLesson
    reading: Reading
    plan: LessonPlan


def _shown(studio: Studio, lesson_id: str) -> _Shown:
    """What there is to see and hear of a lesson. Raises RefusedError when it could never be built."""
    lesson = studio.lessons.open(lesson_id)
    reading = lesson.reading if lesson.reading.plan else studio.lessons.last_good(lesson_id)
    if reading is None or reading.plan is None:
        raise RefusedError("Mend what is wrong with the lesson first.", status=422)
    return _Shown(lesson=lesson, reading=reading, plan=reading.plan)

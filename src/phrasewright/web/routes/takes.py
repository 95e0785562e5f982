"""Takes: sent, listened to, shown, hidden and shown again."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, NamedTuple

from fastapi import APIRouter, Header, Query, Request
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from phrasewright.course.asked import note_asked
from phrasewright.course.take_files import TakeFiles
from phrasewright.course.takes import (
    Take,
    TakeState,
    add_take,
    set_deleted,
    set_heard,
    take_by_id,
    take_by_key,
    takes_of,
)
from phrasewright.errors import PhrasewrightError
from phrasewright.web.answers import Refusal, RefusedError
from phrasewright.web.guard.names import LessonId, TakeId, new_id
from phrasewright.web.guard.visit import Who
from phrasewright.web.guard.who import TheWho, may_see
from phrasewright.web.jobs.errands import listening
from phrasewright.web.jobs.jobs import Jobs
from phrasewright.web.jobs.told import JobKind
from phrasewright.web.lessons_known import TheLessons
from phrasewright.web.pack_shelf import MEDIA_TYPES
from phrasewright.web.routes.packs import Begun
from phrasewright.web.sent import file_sent
from phrasewright.web.studio import Studio, TheStudio
from phrasewright.web.take_models import HeardView, TakeModel, TakeSummary, summary_of, take_model
from phrasewright.web.take_upload import Upload, check_announced, seconds_of
from phrasewright.web.working import TheJobs

PIECE = r"^((exercise|study)-[1-9][0-9]?)?$"
KEY = r"^[\x21-\x7e]{0,100}$"
SOUND_TYPES = MEDIA_TYPES | {".m4a": "audio/mp4", ".webm": "audio/webm", ".aiff": "audio/aiff"}
REPORT_POLICY = (
    "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; "
    "img-src data:; media-src data: blob:; font-src data:"
)
REFUSALS = {status: {"model": Refusal} for status in (408, 409, 413, 415, 503, 507)}
router = APIRouter(tags=["takes"])


@router.post(
    "/api/lessons/{lesson_id}/takes",
    status_code=202,
    responses=REFUSALS,  # type: ignore[arg-type]
    openapi_extra={
        "requestBody": {"required": True, "content": {"audio/*": {"schema": {"type": "string", "format": "binary"}}}}
    },
)
async def send(
    lesson_id: LessonId,
    request: Request,
    studio: TheStudio,
    lessons: TheLessons,
    jobs: TheJobs,
    who: TheWho,
    piece: Annotated[str, Query(pattern=PIECE, description="As study-1; empty = the player's own line")] = "",
    tempo_bpm: Annotated[float | None, Query(ge=10, le=400, allow_inf_nan=False)] = None,
    offset_s: Annotated[float | None, Query(ge=-60, le=1200, allow_inf_nan=False)] = None,
    alone: bool = False,
    idempotency_key: Annotated[str, Header(pattern=KEY, description="The same for every try of one upload")] = "",
) -> Begun:
    """Keep a recording and have it listened to. What is acknowledged is on the disk."""
    retry_key = f"{who.student_id}:{lesson_id}:{idempotency_key}" if idempotency_key else None
    wish = _Wish(lesson_id, who.student_id, piece, tempo_bpm, offset_s, alone, retry_key)
    upload = Upload(request)
    try:
        await run_in_threadpool(lessons.known_file, lesson_id)
        check_announced(request, studio.folder)
        return await _kept(wish, upload, studio, jobs)
    except PhrasewrightError:
        await upload.let_finish()
        raise


class _Wish(NamedTuple):
    """What an upload says about itself."""

    lesson_id: str
    student_id: str
    piece: str
    tempo_bpm: float | None
    offset_s: float | None
    alone: bool
    retry_key: str | None


async def _kept(wish: _Wish, upload: Upload, studio: Studio, jobs: Jobs) -> Begun:
    files, retry_key = TakeFiles(studio.home), wish.retry_key
    first = None if retry_key is None else await run_in_threadpool(take_by_key, studio.engine, retry_key)
    if first is not None:
        return _same(first, await upload.digest(), jobs)
    jobs.check_room(JobKind.LISTEN)
    take_id = new_id()
    with files.receive(take_id) as arriving:
        kind = await upload.write(arriving)
        seconds = await seconds_of(arriving, jobs)
        await run_in_threadpool(arriving.finish)
        take = Take(
            id=take_id,
            **wish._asdict(),
            recorded_at=_now(),
            seconds=seconds,
            kind=kind,
            sha256=arriving.sha256,
            size_bytes=arriving.size_bytes,
        )
        asked = listening(take_id, wish.student_id)
        arriving.keep()
        kept = await run_in_threadpool(add_take, studio.engine, take, asked)
        if kept.id != take_id:
            arriving.path.unlink(missing_ok=True)
            return _same(kept, take.sha256, jobs)
        await run_in_threadpool(files.adopt, take)
    return Begun(id=take_id, job=jobs.put(asked).asked.job_id)


@router.get("/api/lessons/{lesson_id}/takes")
def takes_of_lesson(lesson_id: LessonId, studio: TheStudio, jobs: TheJobs, who: TheWho) -> list[TakeSummary]:
    """The takes of a lesson, newest first: all for the teacher, a student's own for a student."""
    found = takes_of(studio.engine, lesson_id, student_id=None if who.teaches else who.student_id)
    working = jobs.working()
    return [summary_of(take, working.get(take.id)) for take in found]


@router.get("/api/takes/{take_id}")
def take(take_id: TakeId, studio: TheStudio, jobs: TheJobs, who: TheWho) -> TakeModel:
    """A take with all that was heard."""
    found = _seen(studio, take_id, who)
    return take_model(found, _view(studio, found), jobs.working().get(take_id))


@router.get("/api/takes/{take_id}/sound", response_class=Response)
def sound(take_id: TakeId, request: Request, studio: TheStudio, who: TheWho) -> Response:
    """The recording as it was sent."""
    found, files = _seen(studio, take_id, who), TakeFiles(studio.home)
    path = files.sound(found)
    if not path.is_file():
        files.adopt(found)
    if not path.is_file():
        raise RefusedError("The sound of this take is missing.", status=404)
    return file_sent(request, path, media_type=SOUND_TYPES[path.suffix], etag=f'"{found.sha256}"')


@router.get("/api/takes/{take_id}/report", response_class=Response)
def report(take_id: TakeId, request: Request, studio: TheStudio, who: TheWho) -> Response:
    """The report on a take: one page that needs nothing beside it, and may reach nothing of the studio."""
    return _result(request, studio, _seen(studio, take_id, who), "html", **{"content-security-policy": REPORT_POLICY})


@router.get("/api/takes/{take_id}/sheet.pdf", response_class=Response)
def sheet(take_id: TakeId, request: Request, studio: TheStudio, who: TheWho) -> Response:
    """The report's sheet to print."""
    return _result(request, studio, _seen(studio, take_id, who), "pdf")


@router.post("/api/takes/{take_id}/listen", status_code=202, responses={503: {"model": Refusal}})
async def listen(take_id: TakeId, studio: TheStudio, jobs: TheJobs, who: TheWho) -> Begun:
    """Listen to a take anew."""
    found = await run_in_threadpool(_seen, studio, take_id, who)
    waiting = jobs.waiting_for(JobKind.LISTEN, take_id)
    if waiting is None:
        jobs.check_room(JobKind.LISTEN)
        asked = listening(take_id, found.student_id)
        await run_in_threadpool(note_asked, studio.engine, asked)
        await run_in_threadpool(set_heard, studio.engine, take_id, TakeState.WAITING, "")
        waiting = jobs.put(asked)
    return Begun(id=take_id, job=waiting.asked.job_id)


@router.delete("/api/takes/{take_id}", status_code=204)
def hide(take_id: TakeId, studio: TheStudio, who: TheWho) -> None:
    """Delete a take: it is hidden, kept, and can be restored."""
    _seen(studio, take_id, who)
    set_deleted(studio.engine, take_id, _now())


@router.post("/api/takes/{take_id}/restore")
def restore(take_id: TakeId, studio: TheStudio, jobs: TheJobs, who: TheWho) -> TakeSummary:
    """Take a deletion back."""
    _seen(studio, take_id, who, deleted=True)
    set_deleted(studio.engine, take_id, "")
    return summary_of(_seen(studio, take_id, who), jobs.working().get(take_id))


def _seen(studio: Studio, take_id: str, who: Who, *, deleted: bool = False) -> Take:
    """A take that somebody may see. deleted: hidden ones too. Raises RefusedError (404)."""
    found = take_by_id(studio.engine, take_id)
    if found is None or not may_see(who, found.student_id) or (found.deleted_at and not deleted):
        raise RefusedError("There is no such take.", status=404)
    return found


def _same(first: Take, sha256: str, jobs: Jobs) -> Begun:
    """The answer to a second try of an upload. Raises RefusedError (409) when it is another recording."""
    if first.sha256 != sha256:
        raise RefusedError("Another take was sent with this key.", hint="Send it with a key of its own.", status=409)
    return Begun(id=first.id, job=jobs.working().get(first.id))


def _view(studio: Studio, found: Take) -> HeardView | None:
    if found.state is not TakeState.HEARD:
        return None
    try:
        return HeardView.model_validate_json(TakeFiles(studio.home).result(found.id, "view.json").read_bytes())
    except (OSError, ValidationError):
        return None


def _result(request: Request, studio: Studio, found: Take, ending: str, **headers: str) -> Response:
    path = TakeFiles(studio.home).result(found.id, ending)
    if found.state is not TakeState.HEARD or not path.is_file():
        raise RefusedError("This take has not been heard yet.", status=404)
    stat = path.stat()
    etag = f'"{stat.st_ino:x}-{stat.st_mtime_ns:x}-{stat.st_size:x}"'
    return file_sent(request, path, media_type=MEDIA_TYPES[path.suffix], etag=etag, **headers)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")

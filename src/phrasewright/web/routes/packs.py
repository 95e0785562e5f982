"""Packs: handed out anew, what is in them, their files, all of them at once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response, StreamingResponse

from phrasewright.app.manifest import MANIFEST_NAME, Manifest, program_digest
from phrasewright.app.source import read_source
from phrasewright.course.asked import note_asked
from phrasewright.errors import PhrasewrightError
from phrasewright.web.answers import Refusal, RefusedError
from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import somebody, teacher_only
from phrasewright.web.jobs.errands import building
from phrasewright.web.jobs.told import JobKind
from phrasewright.web.lessons_known import TheLessons
from phrasewright.web.pack_shelf import ThePacks
from phrasewright.web.pack_zip import zip_blocks
from phrasewright.web.sent import pack_file
from phrasewright.web.studio import TheStudio
from phrasewright.web.working import TheJobs

router = APIRouter(tags=["packs"], dependencies=[Depends(somebody)])


class Begun(BaseModel):
    """Work that was begun. id: what it is about; job: where its progress is told, null when it is done already."""

    id: str
    job: str | None


class PackFileModel(BaseModel):
    """One file of a pack. path: below the pack's address; role: ``handout``, ``page``, ``audio`` ..."""

    path: str
    role: str
    size_bytes: int


class PackModel(BaseModel):
    """A lesson's pack. current: made from the lesson as it is now, by this version; page: address of its room."""

    built: bool
    current: bool
    made_at: datetime | None = None
    size_bytes: int = 0
    files: list[PackFileModel] = []
    page: str


@router.post(
    "/api/lessons/{lesson_id}/pack",
    status_code=202,
    responses={403: {"model": Refusal}, 503: {"model": Refusal}},
    dependencies=[Depends(teacher_only)],
)
async def build(lesson_id: LessonId, studio: TheStudio, lessons: TheLessons, jobs: TheJobs) -> Begun:
    """Build the pack anew; one that waits already is not asked for twice."""
    await run_in_threadpool(lessons.known_file, lesson_id)
    waiting = jobs.waiting_for(JobKind.PACK, lesson_id)
    if waiting is None:
        jobs.check_room(JobKind.PACK)
        asked = building(lesson_id)
        await run_in_threadpool(note_asked, studio.engine, asked)
        waiting = jobs.put(asked)
    return Begun(id=lesson_id, job=waiting.asked.job_id)


@router.get("/api/lessons/{lesson_id}/pack")
def pack_of(lesson_id: LessonId, lessons: TheLessons, packs: ThePacks) -> PackModel:
    """What is in a lesson's pack."""
    pack = lessons.pack_of(lesson_id)
    manifest, page = packs.manifest(pack), f"/room/{lesson_id}/"
    if manifest is None:
        return PackModel(built=False, current=False, page=page)
    files = [PackFileModel(path=one.path, role=one.role, size_bytes=one.size_bytes) for one in manifest.files]
    return PackModel(
        built=True,
        current=_is_current(lessons.known_file(lesson_id), manifest),
        made_at=_made_at(pack),
        size_bytes=sum(one.size_bytes for one in files),
        files=files,
        page=page,
    )


@router.get("/pack/{lesson_id}.zip", response_class=Response)
def whole(lesson_id: LessonId, lessons: TheLessons, packs: ThePacks) -> Response:
    """The whole pack as one ZIP file."""
    pack = lessons.pack_of(lesson_id)
    manifest = _built(packs.manifest(pack))
    return StreamingResponse(
        _blocks(pack, manifest),
        media_type="application/zip",
        headers={"content-disposition": f"attachment; filename*=UTF-8''{quote(pack.name, safe='')}.zip"},
    )


@router.get("/pack/{lesson_id}/{path:path}", response_class=Response)
async def file_of_pack(
    lesson_id: LessonId, path: str, request: Request, lessons: TheLessons, packs: ThePacks
) -> Response:
    """One file that the pack's manifest names."""
    return await pack_file(request, packs, lessons.pack_of(lesson_id), path)


def _built(manifest: Manifest | None) -> Manifest:
    if manifest is None:
        raise RefusedError("This lesson has not been handed out yet.", status=404)
    return manifest


def _blocks(pack: Path, manifest: Manifest) -> Iterator[bytes]:
    made_at = _made_at(pack) or datetime.now(UTC)
    yield from zip_blocks(pack, manifest, folder=pack.name, made_at=made_at.timetuple()[:6])


def _made_at(pack: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp((pack / MANIFEST_NAME).stat().st_mtime, UTC)
    except OSError:
        return None


def _is_current(lesson: Path, manifest: Manifest) -> bool:
    try:
        return read_source(lesson).sha256 == manifest.lesson_sha256 and manifest.program == program_digest()
    except PhrasewrightError:
        return False

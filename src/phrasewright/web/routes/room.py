"""The student's room: a lesson's page, with what the studio adds to it."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, Response

from phrasewright.web.guard.names import LessonId
from phrasewright.web.guard.who import ThePageToken, somebody
from phrasewright.web.lessons_known import TheLessons
from phrasewright.web.pack_shelf import PAGE, PackFile, ThePacks
from phrasewright.web.room_page import NOT_YET, RoomPage, room_lines
from phrasewright.web.sent import ASK_FIRST, is_known, not_changed, pack_file, takes_gzip

router = APIRouter(tags=["room"], dependencies=[Depends(somebody)])
_pages: dict[str, RoomPage] = {}  # by digest, some 2 MB each
MOST_PAGES = 8


@router.get("/room/{lesson_id}/", response_class=HTMLResponse)
async def room(
    lesson_id: LessonId, request: Request, lessons: TheLessons, packs: ThePacks, token: ThePageToken
) -> Response:
    """The page of a lesson's pack, as a room."""
    pack = lessons.pack_of(lesson_id)
    found = packs.kept(pack, PAGE) or await run_in_threadpool(packs.find, pack, PAGE)
    if found is None:
        return HTMLResponse(NOT_YET, status_code=404)
    page = _pages.get(found.entry.sha256)
    if page is None:
        page = await run_in_threadpool(_taken_apart, found)
    lines = room_lines(lesson_id, token)
    etag = page.etag(lines)
    if is_known(request, etag):
        return not_changed(etag)
    headers = {"etag": etag, "cache-control": ASK_FIRST, "vary": "accept-encoding"}
    if takes_gzip(request):
        return HTMLResponse(page.gzipped(lines), headers=headers | {"content-encoding": "gzip"})
    return HTMLResponse(page.plain(lines), headers=headers)


@router.get("/room/{lesson_id}/{path:path}", response_class=Response)
async def file_of_room(
    lesson_id: LessonId, path: str, request: Request, lessons: TheLessons, packs: ThePacks
) -> Response:
    """What the page of a room loads: the files of its pack."""
    return await pack_file(request, packs, lessons.pack_of(lesson_id), path)


def _taken_apart(found: PackFile) -> RoomPage:
    """A page, remembered; the one remembered for longest is forgotten."""
    content = found.path.read_bytes() if found.content is None else found.content
    page = _pages[found.entry.sha256] = RoomPage.of(content, found.entry.sha256)
    while len(_pages) > MOST_PAGES:
        _pages.pop(next(iter(_pages)))
    return page

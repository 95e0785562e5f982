"""The student's room: a lesson's page, with what the studio adds to it."""

from __future__ import annotations

from functools import lru_cache

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from phrasewright.web.answers import RefusedError
from phrasewright.web.ids import LessonId
from phrasewright.web.lessons_known import TheLessons
from phrasewright.web.pack_shelf import PAGE, ThePacks
from phrasewright.web.room_page import NOT_YET, RoomPage, room_lines
from phrasewright.web.sent import ASK_FIRST, is_known, not_changed, pack_file_sent, takes_gzip
from phrasewright.web.visitor import ThePageToken

router = APIRouter(tags=["room"])
_taken_apart = lru_cache(maxsize=8)(RoomPage.of)  # pages of some 2 MB


@router.get("/room/{lesson_id}/", response_class=HTMLResponse)
def room(lesson_id: LessonId, request: Request, lessons: TheLessons, packs: ThePacks, token: ThePageToken) -> Response:
    """The page of a lesson's pack, as a room."""
    found = packs.find(lessons.pack_of(lesson_id), PAGE)
    if found is None:
        return HTMLResponse(NOT_YET, status_code=404)
    content = found.path.read_bytes() if found.content is None else found.content
    page, lines = _taken_apart(content, found.entry.sha256), room_lines(lesson_id, token)
    etag = page.etag(lines)
    if is_known(request, etag):
        return not_changed(etag)
    headers = {"etag": etag, "cache-control": ASK_FIRST, "vary": "accept-encoding"}
    if takes_gzip(request):
        return HTMLResponse(page.gzipped(lines), headers=headers | {"content-encoding": "gzip"})
    return HTMLResponse(page.plain(lines), headers=headers)


@router.get("/room/{lesson_id}/{path:path}", response_class=Response)
def file_of_room(lesson_id: LessonId, path: str, request: Request, lessons: TheLessons, packs: ThePacks) -> Response:
    """What the page of a room loads: the files of its pack."""
    found = packs.find(lessons.pack_of(lesson_id), path)
    if found is None:
        raise RefusedError("There is no such file in this pack.", status=404)
    return pack_file_sent(request, found)

"""How files go to the browser: asked about each time, sent only when changed, in parts where parts are asked for."""

from __future__ import annotations

from pathlib import Path

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, Response

from phrasewright.web.answers import RefusedError
from phrasewright.web.pack_shelf import PackFile, PackShelf

ASK_FIRST = "private, no-cache"  # kept by the browser, and asked about each time


def is_known(request: Request, etag: str) -> bool:
    """Whether the browser has this version already (RFC 9110, 13.1.2)."""
    wanted = request.headers.get("if-none-match", "")
    return wanted.strip() == "*" or etag in (one.strip().removeprefix("W/") for one in wanted.split(","))


def not_changed(etag: str) -> Response:
    """The answer to a browser that has this version."""
    return Response(status_code=304, headers={"etag": etag, "cache-control": ASK_FIRST})


def takes_gzip(request: Request) -> bool:
    """Whether the browser understands gzip."""
    wanted = (one.strip().replace(" ", "") for one in request.headers.get("accept-encoding", "").split(","))
    return any(one == "gzip" or (one.startswith("gzip;q=") and one not in ("gzip;q=0", "gzip;q=0.0")) for one in wanted)


def bytes_sent(request: Request, content: bytes, squeezed: bytes | None, *, media_type: str, etag: str) -> Response:
    """Bytes from memory, squeezed where that is understood."""
    if is_known(request, etag):
        return not_changed(etag)
    headers = {"etag": etag, "cache-control": ASK_FIRST}
    if squeezed is not None:
        headers["vary"] = "accept-encoding"
        if takes_gzip(request):
            content, headers["content-encoding"] = squeezed, "gzip"
    return Response(content, media_type=media_type, headers=headers)


def file_sent(request: Request, path: Path, *, media_type: str, etag: str, **headers: str) -> Response:
    """A file from the disk, or the parts of it that are asked for (RFC 9110, 14)."""
    if is_known(request, etag):
        return not_changed(etag)
    return FileResponse(path, media_type=media_type, headers={"etag": etag, "cache-control": ASK_FIRST, **headers})


async def pack_file(request: Request, packs: PackShelf, pack: Path, name: str) -> Response:
    """A file of a pack. Raises RefusedError when it has none such.

    What is in memory is sent at once: a thread for it would cost more than all the rest.
    """
    found = packs.kept(pack, name) or await run_in_threadpool(packs.find, pack, name)
    if found is None:
        raise RefusedError("There is no such file in this pack.", status=404)
    return pack_file_sent(request, found)


def pack_file_sent(request: Request, found: PackFile) -> Response:
    """A file that was found. Sound comes from the disk, since players ask for parts of it."""
    if found.content is None or found.media_type.startswith("audio/"):
        return file_sent(request, found.path, media_type=found.media_type, etag=found.etag)
    return bytes_sent(request, found.content, found.squeezed, media_type=found.media_type, etag=found.etag)

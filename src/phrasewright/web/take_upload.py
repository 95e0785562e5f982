"""Receiving a take: written aside as it comes, seen to be a recording, brought to the disk, remembered, then named.

Nothing here decodes audio: a process of its own does, so that a hostile file can hurt that process alone.
"""

from __future__ import annotations

import asyncio
import hashlib
import shutil
from collections.abc import AsyncIterator
from contextlib import suppress
from pathlib import Path

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect

from phrasewright.course.take_files import Arriving
from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.sizes import TAKE_BYTES
from phrasewright.web.jobs.jobs import Jobs
from phrasewright.web.jobs.told import Probed, ProbeRequest

MOST_BYTES = TAKE_BYTES
MOST_READ_BYTES = 4 * MOST_BYTES  # of one that is refused anyway; then the connection is closed
BLOCK_BYTES = 1 << 20  # written at once
HEAD = 12  # bytes that tell the kind of a file
LEAST_FREE_BYTES = 500_000_000
SILENCE_S = 60.0  # between two pieces of an upload
PROBE_S = 90.0
ACCEPTED = ("audio/", "video/webm", "video/mp4", "application/octet-stream", "application/ogg")


def kind_of(head: bytes) -> str | None:
    """The kind of a sound file by its first 12 bytes; None for what no recorder writes."""
    if head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE":
        return "wav"
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        return "aiff"
    if head[4:8] == b"ftyp":
        return "m4a"
    if head[:3] == b"ID3" or (len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0):
        return "mp3"
    return next((kind for magic, kind in _MAGIC.items() if head.startswith(magic)), None)


_MAGIC = {b"fLaC": "flac", b"OggS": "ogg", b"\x1a\x45\xdf\xa3": "webm"}
NOT_AUDIO = RefusedError("This is no recording.", hint="Send WAV, FLAC, MP3, Ogg, M4A or WebM.", status=422)


def check_announced(request: Request, folder: Path) -> None:
    """Refuse by the header alone what would be refused later. folder: where it would lie. Raises RefusedError."""
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if not kind.startswith(ACCEPTED):
        raise RefusedError("A take is sent as audio.", hint="Send it with a content type like audio/wav.", status=415)
    length = request.headers.get("content-length", "")
    if length.isascii() and length.isdecimal() and int(length) > MOST_BYTES:
        raise too_large()
    if shutil.disk_usage(folder).free < LEAST_FREE_BYTES:
        raise RefusedError("The studio's disk is full.", hint="Tell the teacher; keep the recording.", status=507)


class Upload:
    """The body of a request, as it comes."""

    def __init__(self, request: Request) -> None:
        self._coming = request.stream()
        self._size = 0

    async def write(self, arriving: Arriving) -> str:
        """Write it aside, a block at a time in a thread, as a disk may be slow; its kind.

        Raises RefusedError, OutputError.
        """
        head, block = b"", bytearray()
        async for piece in self._pieces(MOST_BYTES):
            block += piece
            if len(head) < HEAD:
                head = bytes(block[:HEAD])
                if len(head) == HEAD and kind_of(head) is None:
                    raise NOT_AUDIO
            if len(block) >= BLOCK_BYTES:
                await run_in_threadpool(arriving.add, bytes(block))
                block.clear()
        kind = kind_of(head)
        if kind is None:
            raise NOT_AUDIO
        await run_in_threadpool(arriving.add, bytes(block))
        return kind

    async def digest(self) -> str:
        """SHA-256 of one that is not kept. Raises RefusedError."""
        digest = hashlib.sha256()
        async for piece in self._pieces(MOST_BYTES):
            digest.update(piece)
        return digest.hexdigest()

    async def let_finish(self) -> None:
        """Read what still comes of a refused one, so that its sender hears why; all that is still sensible."""
        with suppress(RefusedError):
            async for _ in self._pieces(MOST_READ_BYTES):
                pass

    async def _pieces(self, most_bytes: int) -> AsyncIterator[bytes]:
        """Raises RefusedError when it is too large, stops or breaks off."""
        while True:
            try:
                piece = await asyncio.wait_for(anext(self._coming), SILENCE_S)
            except StopAsyncIteration:
                return
            except (TimeoutError, ClientDisconnect):
                raise RefusedError("The upload broke off.", hint="Send it again.", status=408) from None
            self._size += len(piece)
            if self._size > most_bytes:
                raise too_large()
            yield piece


async def seconds_of(arriving: Arriving, jobs: Jobs) -> float:
    """How long an upload lasts. Raises RefusedError when it cannot be listened to."""
    arriving.flush()
    told = await jobs.ask(ProbeRequest(take=arriving.path.resolve()), limit_s=PROBE_S)
    if isinstance(told.result, Probed):
        return told.result.seconds
    if told.refusal is not None:
        raise RefusedError(told.refusal.message, hint=told.refusal.hint, status=422)
    raise NOT_AUDIO


def too_large() -> RefusedError:
    """Why an upload is refused by its size."""
    return RefusedError(
        f"A take has {MOST_BYTES // 1_000_000} MB at most.", hint="Cut out the part that is to be heard.", status=413
    )

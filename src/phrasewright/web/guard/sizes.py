"""How much and how slowly: bodies are counted while they arrive, and nobody holds the door open.

The declared length is looked at first, so that a client that asks (``Expect: 100-continue``) sends nothing in vain;
then the bytes are counted, as a chunked body declares nothing.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
from dataclasses import dataclass
from itertools import chain

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from phrasewright.web.answers import Refusal, refusal_for
from phrasewright.web.guard.rates import is_upload

MEGABYTE = 1_000_000
TAKE_BYTES = 60 * MEGABYTE  # ten minutes of one channel, uncompressed
CLOSE = {"Connection": "close"}
_LENGTH = re.compile(r"[0-9]{1,18}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """words_bytes: of JSON and forms; take_bytes: of a take. headers, headers_bytes: how many, and their size together.

    idle_s: the longest pause of a body; slowest_bytes_per_s: the pace it must keep after the first grace_s.
    drained_bytes, drained_s: how much more of a refused body may come, so that its sender reads the answer.
    """

    words_bytes: int = MEGABYTE
    take_bytes: int = TAKE_BYTES
    headers: int = 64
    headers_bytes: int = 32_768
    idle_s: float = 20.0
    grace_s: float = 30.0
    slowest_bytes_per_s: float = 50_000.0
    drained_bytes: int = 8 * MEGABYTE
    drained_s: float = 3.0


class BodyError(HTTPException):
    """A body that is not taken in."""


class Bodies:
    """Refuses bodies that are too large (413) or too slow (408), and floods of headers (431)."""

    def __init__(self, app: ASGIApp, *, sizes: Sizes) -> None:
        self.app = app
        self.sizes = sizes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer while counting what arrives."""
        limit_bytes = self._limit(scope)
        body = _Body(receive, limit_bytes, self.sizes, has_body=_has_body(Headers(scope=scope)))
        has_begun = False

        async def watched_send(message: Message) -> None:
            nonlocal has_begun
            has_begun = True
            is_last = message["type"] == "http.response.body" and not message.get("more_body", False)
            if is_last and body.is_refused:
                await send({**message, "more_body": True})
                await body.drain()
                message = {"type": "http.response.body", "body": b""}
            await send(message)

        try:
            self._check_headers(Headers(scope=scope), limit_bytes)
            await self.app(scope, body.receive, watched_send)
        except BodyError as error:
            if has_begun:
                raise
            body.is_refused = True
            refusal = Refusal(message=str(error.detail))
            answer = refusal_for(scope, refusal, status=error.status_code, headers=error.headers)
            await answer(scope, receive, watched_send)

    def _limit(self, scope: Scope) -> int:
        return self.sizes.take_bytes if is_upload(scope["method"], scope["path"]) else self.sizes.words_bytes

    def _check_headers(self, headers: Headers, limit_bytes: int) -> None:
        if len(headers) > self.sizes.headers or sum(map(len, chain(*headers.raw))) > self.sizes.headers_bytes:
            raise BodyError(431, "This request has more headers than the studio reads.")
        declared = headers.get("content-length", "0")
        if not _LENGTH.fullmatch(declared):
            raise BodyError(400, "This request does not say how long it is.")
        if int(declared) > limit_bytes:
            raise _too_large(limit_bytes)


class _Body:
    """A body while it arrives, as long as it is small enough and comes fast enough."""

    def __init__(self, receive: Receive, limit_bytes: int, sizes: Sizes, *, has_body: bool) -> None:
        self._receive = receive
        self._limit_bytes = limit_bytes
        self._sizes = sizes
        self._count_bytes = 0
        self._began_s = 0.0
        self._is_whole = not has_body
        self.is_refused = False

    async def receive(self) -> Message:
        """The next message. Raises BodyError when there is too much of it or it is too slow."""
        if self._is_whole:  # what comes now is the end of the connection, and may take its time
            message = await self._receive()
        else:
            try:
                message = await asyncio.wait_for(self._receive(), timeout=self._patience_s())
            except TimeoutError:
                self.is_refused = True
                raise BodyError(408, "What was sent came too slowly and was given up.", CLOSE) from None
        self._note(message)
        if self._count_bytes > self._limit_bytes:
            self.is_refused = True
            raise _too_large(self._limit_bytes)
        return message

    async def drain(self) -> None:
        """Let a little more of a refused body come: a client that is still sending reads no answer."""
        ends_bytes = self._count_bytes + self._sizes.drained_bytes
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(self._sizes.drained_s):
                while not self._is_whole and self._count_bytes < ends_bytes:
                    self._note(await self._receive())

    def _patience_s(self) -> float:
        now_s = asyncio.get_running_loop().time()
        self._began_s = self._began_s or now_s
        left_s = self._began_s + self._sizes.grace_s + self._count_bytes / self._sizes.slowest_bytes_per_s - now_s
        return max(0.0, min(self._sizes.idle_s, left_s))

    def _note(self, message: Message) -> None:
        self._count_bytes += len(message.get("body", b""))
        self._is_whole = message["type"] != "http.request" or not message.get("more_body", False)


def _has_body(headers: Headers) -> bool:
    """Whether a request announces a body (RFC 9112, section 6.3)."""
    return "transfer-encoding" in headers or headers.get("content-length", "0") != "0"


def _too_large(limit_bytes: int) -> BodyError:
    room = f"{limit_bytes // MEGABYTE} MB" if limit_bytes >= MEGABYTE else f"{limit_bytes} bytes"
    return BodyError(413, f"This is too large: there is room for {room}.", CLOSE)

"""Nothing is done on behalf of another site's page.

A request that changes something must come from a page of the studio: by its headers (``Origin``, ``Sec-Fetch-Site``),
and by the token that the page carries, in ``X-Phrasewright-Token`` or, for a plain form, in its field ``token``. That
holds in local mode as well. A foreign page may follow a link here, but it may not load anything from here.
"""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect, Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from phrasewright.course.tokens import same, token_of
from phrasewright.web.answers import CUT_OFF, Refusal, refusal_for
from phrasewright.web.forms import is_form, read_form
from phrasewright.web.guard.doors import is_open
from phrasewright.web.guard.visit import Visit, visit_of

HEADER = "x-phrasewright-token"
FIELD = "token"
SAFE = ("GET", "HEAD", "OPTIONS")
PORTS = {"http": 80, "https": 443}

FOREIGN = Refusal(message="Another site asked for this, so it was not done.")
STALE = Refusal(
    message="This page has been open longer than your visit, so nothing was changed.",
    hint="Load the page again, then repeat what you did.",
)


class SameSite:
    """Refuses what another site's page asks for (403)."""

    def __init__(self, app: ASGIApp, *, origins: tuple[str, ...]) -> None:
        self.app = app
        self.origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on when it is the studio's own."""
        headers = Headers(scope=scope)
        if scope["method"] in SAFE:
            if is_foreign_load(headers):
                await refusal_for(scope, FOREIGN, status=403)(scope, receive, send)
            else:
                await self.app(scope, receive, send)
            return
        if not is_own(headers, (f"{scope['scheme']}://{headers.get('host', '')}", *self.origins)):
            await refusal_for(scope, FOREIGN, status=403)(scope, receive, send)
            return
        token = headers.get(HEADER, "")
        if not token and is_form(headers):
            try:
                body = await Request(scope, receive).body()
            except ClientDisconnect:
                await refusal_for(scope, CUT_OFF, status=400)(scope, receive, send)
                return
            receive = _again(body, receive)
            token = read_form(body).get(FIELD, "")
        if _is_known(token, visit_of(scope), scope["path"]):
            await self.app(scope, receive, send)
        else:
            await refusal_for(scope, STALE, status=403)(scope, receive, send)


def is_foreign_load(headers: Headers) -> bool:
    """Whether another site's page loads something here, other than by a link that is followed."""
    return headers.get("sec-fetch-site") in ("cross-site", "same-site") and not (
        headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
    )


def is_own(headers: Headers, origins: tuple[str, ...]) -> bool:
    """Whether the headers name the studio as the place a change comes from. Programs send neither, and pass.

    origins: of the studio; a proxy in front may hide under which of them it was asked.
    """
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or (_place(origin) is not None and _place(origin) in map(_place, origins))


def _place(origin: str) -> tuple[str, str, int | None] | None:
    """Scheme, host and port of an origin; None for ``null`` and whatever else is not one."""
    try:
        parts = urlsplit(origin)
        port = parts.port
    except ValueError:
        return None
    if parts.scheme not in PORTS or not parts.hostname or parts.path or parts.query or parts.fragment:
        return None
    return parts.scheme, parts.hostname, port or PORTS[parts.scheme]


def _is_known(token: str, visit: Visit, path: str) -> bool:
    """The session's token; a guest's counts only without a session and at the doors, where none is needed."""
    if not token:
        return False
    if visit.session and same(token, token_of(visit.session)):
        return True
    return (not visit.session or is_open(path)) and not visit.is_new and same(token, token_of(visit.guest))


def _again(body: bytes, receive: Receive) -> Receive:
    """A body that was read, to be read again."""
    is_read = False

    async def receive_again() -> Message:
        nonlocal is_read
        if is_read:
            return await receive()
        is_read = True
        return {"type": "http.request", "body": body, "more_body": False}

    return receive_again

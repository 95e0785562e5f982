"""What is open before signing in: the sign-in page, a student's link, and the look of both. Everything else is not."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from phrasewright.web.answers import Refusal, refusal_for
from phrasewright.web.guard.visit import Role, visit_of
from phrasewright.web.page_models import AgainPage
from phrasewright.web.pages import page

OPEN = ("/sign-in", "/come/", "/static/")


class Doors:
    """Sends people who have not signed in to the sign-in page, and refuses their programs (401)."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on when its door is open."""
        if visit_of(scope).who.role is not Role.NOBODY or is_open(scope["path"]):
            await self.app(scope, receive, send)
        else:
            await _shut(scope)(scope, receive, send)


def is_open(path: str) -> bool:
    """Whether nobody need sign in for a path."""
    return path == OPEN[0] or path.startswith(OPEN[1:])


def _shut(scope: Scope) -> Response:
    headers = Headers(scope=scope)
    if scope["path"].startswith("/api/") or scope["method"] not in ("GET", "HEAD"):
        return refusal_for(scope, Refusal(message="Sign in first, then do this again."), status=401)
    if headers.get("sec-fetch-site") in ("cross-site", "same-site"):
        # A link in a mail was followed: the browser keeps the session back, and sends it when our own page asks anew.
        return page(Request(scope), AgainPage())
    asked = scope["path"] + (f"?{scope['query_string'].decode('latin-1')}" if scope["query_string"] else "")
    return RedirectResponse("/sign-in" if asked == "/" else f"/sign-in?{urlencode({'next': asked})}", status_code=303)

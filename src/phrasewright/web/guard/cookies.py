"""The two cookies of the studio, a session's secret and a guest's: no script reads them, no other site sends them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from phrasewright.course.sessions import STUDENT_SPAN

SESSION = "phrasewright-session"
GUEST = "phrasewright-guest"


def give_session(request: Request, response: Response, secret: str, *, is_student: bool) -> None:
    """Have the browser keep a session: a teacher's until it is closed, a student's as long as it lasts."""
    span_s = int(STUDENT_SPAN.whole.total_seconds()) if is_student else None
    _give(response, SESSION, secret, is_secure=request.url.scheme == "https", span_s=span_s)


def take_session(request: Request, response: Response) -> None:
    """Have the browser forget its session."""
    _give(response, SESSION, "", is_secure=request.url.scheme == "https", span_s=0)


def guest_header(secret: str, *, is_secure: bool) -> str:
    """The ``Set-Cookie`` header for a guest's secret."""
    response = Response()
    _give(response, GUEST, secret, is_secure=is_secure, span_s=None)
    return response.headers["set-cookie"]


def _give(response: Response, name: str, value: str, *, is_secure: bool, span_s: int | None) -> None:
    response.set_cookie(name, value, max_age=span_s, path="/", secure=is_secure, httponly=True, samesite="strict")

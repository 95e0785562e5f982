"""Coming in and going out: the teacher's sign-in, a student's link, sign out."""

from __future__ import annotations

import logging
import re
import threading
from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request
from starlette.responses import RedirectResponse, Response

from phrasewright.course.password import check_password
from phrasewright.course.people import invited
from phrasewright.course.sessions import close_session, open_session
from phrasewright.course.tokens import SHAPE
from phrasewright.web.forms import TheForm
from phrasewright.web.guard.cookies import give_session, take_session
from phrasewright.web.guard.rates import address_of
from phrasewright.web.guard.sharing import Sharing, TheSharing
from phrasewright.web.guard.visit import Role, visit_of
from phrasewright.web.guard.who import anybody
from phrasewright.web.page_models import ComePage, NoLinkPage, SignInPage
from phrasewright.web.pages import page
from phrasewright.web.studio import TheStudio

_LOG = logging.getLogger("phrasewright.web")
_NEXT = re.compile(r"/(?![/\\])[\x21-\x5b\x5d-\x7e]{0,400}")
_AT_ONCE = threading.BoundedSemaphore(2)  # passwords looked at: each takes 64 MiB for a moment

router = APIRouter(include_in_schema=False, dependencies=[Depends(anybody)])
LinkSecret = Annotated[str, Path(pattern=f"^{SHAPE.pattern}$")]


@router.get("/sign-in")
def sign_in_page(request: Request, next: str = "/") -> Response:  # noqa: A002  (the word in the address)
    """Ask for the teacher's password."""
    if visit_of(request.scope).who.role is not Role.NOBODY:
        return RedirectResponse(next_page(next), status_code=303)
    return page(request, SignInPage(next=next_page(next)))


@router.post("/sign-in")
def sign_in(request: Request, form: TheForm, studio: TheStudio, sharing: TheSharing) -> Response:
    """Open the teacher's session. The secret is always a new one; what the browser held before is ended."""
    after = next_page(form.get("next", "/"))
    if not sharing.is_shared:
        return RedirectResponse(after, status_code=303)
    with _AT_ONCE:
        is_right = check_password(studio.engine, form.get("password", ""), hasher=sharing.hasher)
    if not is_right:
        _LOG.warning("A wrong password came from %s.", address_of(request.scope))
        refused = "This is not the password. Look at capital letters and the keyboard's language, then try again."
        return page(request, SignInPage(next=after, refused=refused), status=401)
    return _enter(request, studio, sharing, student_id=None, after=after)


@router.get("/come/{secret}")
def come_page(request: Request, secret: LinkSecret, studio: TheStudio, sharing: TheSharing) -> Response:
    """Say whom a link is for. Looking uses nothing up, as programs that preview links look too."""
    student = invited(studio.engine, secret) if sharing.is_shared else None
    if student is None:
        return page(request, NoLinkPage(), status=404)
    return page(request, ComePage(student=student, secret=secret))


@router.post("/come/{secret}")
def come(request: Request, secret: LinkSecret, studio: TheStudio, sharing: TheSharing) -> Response:
    """Open the session of the student whom a link is for."""
    student = invited(studio.engine, secret) if sharing.is_shared else None
    if student is None:
        return page(request, NoLinkPage(), status=404)
    return _enter(request, studio, sharing, student_id=student.id, after="/")


@router.post("/sign-out")
def sign_out(request: Request, studio: TheStudio) -> Response:
    """End the session."""
    session = visit_of(request.scope).session
    if session:
        close_session(studio.engine, session)
    answer = RedirectResponse("/sign-in", status_code=303)
    take_session(request, answer)
    return answer


def next_page(asked: str) -> str:
    """The page to go on to: one of the studio's own, the first page when something else was asked for."""
    return asked if _NEXT.fullmatch(asked) else "/"


def _enter(request: Request, studio: TheStudio, sharing: Sharing, *, student_id: str | None, after: str) -> Response:
    old = visit_of(request.scope).session
    if old:
        close_session(studio.engine, old)
    secret = open_session(studio.engine, student_id=student_id, now=sharing.now())
    answer = RedirectResponse(after, status_code=303)
    give_session(request, answer, secret, is_student=student_id is not None)
    return answer

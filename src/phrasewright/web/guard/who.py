"""Who may do what, for routes to ask: every route names one of ``anybody``, ``somebody``, ``teacher_only``."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.visit import Role, Who, visit_of


async def anybody(request: Request) -> Who:
    """Whoever asks, signed in or not."""
    return visit_of(request.scope).who


async def somebody(request: Request) -> Who:
    """The teacher or a student. Raises RefusedError (401) for nobody."""
    who = visit_of(request.scope).who
    if who.role is Role.NOBODY:
        raise RefusedError("Sign in first, then do this again.", status=401)
    return who


TheWho = Annotated[Who, Depends(somebody)]


async def teacher_only(who: TheWho) -> Who:
    """The teacher. Raises RefusedError for students (403) and for nobody (401)."""
    if not who.teaches:
        raise RefusedError("This is for the teacher.", status=403)
    return who


async def page_token(request: Request) -> str:
    """The token for a page that a route makes without a template; the browser is given the secret behind it."""
    return visit_of(request.scope).token()


TheTeacher = Annotated[Who, Depends(teacher_only)]
ThePageToken = Annotated[str, Depends(page_token)]


def may_see(who: Who, owner: str) -> bool:
    """Whether somebody may see what belongs to a student, or to the teacher where owner is empty."""
    return who.teaches or (who.role is Role.STUDENT and bool(owner) and who.student_id == owner)

"""Who may do what, for routes to ask: every route names one of ``anybody``, ``somebody``, ``teacher_only``."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.visit import Role, Who, visit_of


def anybody(request: Request) -> Who:
    """Whoever asks, signed in or not."""
    return visit_of(request.scope).who


def somebody(request: Request) -> Who:
    """The teacher or a student. Raises RefusedError (401) for nobody."""
    who = visit_of(request.scope).who
    if who.role is Role.NOBODY:
        raise RefusedError("Sign in first, then do this again.", status=401)
    return who


def teacher_only(request: Request) -> Who:
    """The teacher. Raises RefusedError for students (403) and for nobody (401)."""
    who = somebody(request)
    if not who.teaches:
        raise RefusedError("This is for the teacher.", status=403)
    return who


TheWho = Annotated[Who, Depends(somebody)]
TheTeacher = Annotated[Who, Depends(teacher_only)]


def check_own(who: Who, student_id: str | None) -> None:
    """Let the teacher pass, and a student to what is their own. Raises RefusedError (404) as if it were not there."""
    if not who.teaches and (not who.student_id or who.student_id != student_id):
        raise RefusedError("There is nothing here.", status=404)

"""Who sends a request, and the secret that ties its token to one browser.

A browser that has signed in holds a session; any other, and every browser in local mode, holds a guest secret. The
token in a page is derived from that secret, so a page of somebody else cannot know it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from phrasewright.course.tokens import new_secret, token_of

_KEY = "phrasewright.visit"


class Role(StrEnum):
    """What somebody may do. local: the teacher, on this computer; nobody: not signed in."""

    LOCAL = "local"
    TEACHER = "teacher"
    STUDENT = "student"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """The person behind a request. student_id, name: of a student, otherwise empty."""

    role: Role
    student_id: str = ""
    name: str = ""

    @property
    def teaches(self) -> bool:
        """Whether this is the teacher, here or signed in."""
        return self.role in (Role.LOCAL, Role.TEACHER)


LOCAL = Who(role=Role.LOCAL)
NOBODY = Who(role=Role.NOBODY)


@dataclass(slots=True, kw_only=True)
class Visit:
    """One request's person and secrets.

    session: token of the session, empty without one. guest: the guest secret. is_new: the browser does not hold
    the guest secret yet. told: a token was written into the answer.
    """

    who: Who
    guest: str
    session: str = ""
    is_new: bool = False
    told: bool = False

    def token(self) -> str:
        """The token for a page; from now on the browser must be given the secret behind it."""
        self.told = True
        return token_of(self.session or self.guest)


def put_visit(scope: Any, visit: Visit) -> None:
    """Remember the visit with its request."""
    scope[_KEY] = visit


def visit_of(scope: Any) -> Visit:
    """The visit of a request; nobody's when the guard has not met it."""
    visit = scope.get(_KEY)
    if not isinstance(visit, Visit):
        visit = Visit(who=NOBODY, guest=new_secret(), is_new=True)
        put_visit(scope, visit)
    return visit

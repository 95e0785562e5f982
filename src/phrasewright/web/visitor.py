"""Who sends a request: the one place where routes take it from.

Until people sign in, everybody at this computer is the teacher.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from phrasewright.web.answers import RefusedError


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """The person behind a request. student_id: of a student, otherwise empty."""

    student_id: str = ""

    @property
    def teaches(self) -> bool:
        """Whether this is the teacher."""
        return not self.student_id


async def who_of(_: Request) -> Who:
    """The person behind a request."""
    return Who()


async def page_token(_: Request) -> str:
    """The secret that a page must send along when it changes something; empty when none is asked for."""
    return ""


TheWho = Annotated[Who, Depends(who_of)]
ThePageToken = Annotated[str, Depends(page_token)]


def must_teach(who: Who) -> None:
    """Raises RefusedError (403) for anybody but the teacher."""
    if not who.teaches:
        raise RefusedError("Only the teacher can do this.", status=403)


def may_see(who: Who, owner: str) -> bool:
    """Whether somebody may see what belongs to a student, or to the teacher where owner is empty."""
    return who.teaches or (bool(owner) and who.student_id == owner)

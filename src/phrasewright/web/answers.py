"""Answers in plain words when something cannot be done, the same shape everywhere: a Refusal below ``/api/``, a page
for people otherwise.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from phrasewright.app.lesson_files import NoLessonError
from phrasewright.app.lesson_folder import MovedOnError
from phrasewright.errors import LessonError, OutputError, PhrasewrightError, Problem
from phrasewright.web.guard.headers import SAFE_HEADERS
from phrasewright.web.page_models import RefusedPage
from phrasewright.web.pages import page

_LOG = logging.getLogger("phrasewright.web")
LONGEST_WHERE = 120  # characters of a place named in a refusal; a sender chooses its keys
HEADINGS = {
    401: "Sign in first",
    403: "This is not open to you",
    404: "Not found",
    413: "This is too large",
    429: "Too much at once",
    500: "The studio failed",
}


class ProblemModel(BaseModel):
    """One thing wrong in a lesson. where: the key, as ``band.chart``; line, column: in its file, from 1."""

    what: str
    hint: str = ""
    where: str = ""
    line: int | None = None
    column: int | None = None


class Refusal(BaseModel):
    """Why something was not done. message: what is wrong; hint: how to mend it."""

    message: str
    hint: str = ""
    problems: list[ProblemModel] = []


CUT_OFF = Refusal(message="What was sent broke off. Nothing was saved.")


class RefusedError(PhrasewrightError):
    """A request that is understood and not met. status: of HTTP."""

    def __init__(self, message: str, *, hint: str = "", status: int = 400) -> None:
        super().__init__(message, hint=hint)
        self.status = status


_STATUS: dict[type[PhrasewrightError], int] = {OutputError: 507, NoLessonError: 404, MovedOnError: 409}


def problem_model(problem: Problem) -> ProblemModel:
    """A problem as it goes to the browser."""
    return ProblemModel(
        what=problem.what, hint=problem.hint, where=problem.where, line=problem.line, column=problem.column
    )


def refuse(message: str, *, hint: str = "", status: int = 400) -> Response:
    """A refusal as an answer of the API."""
    return JSONResponse(Refusal(message=message, hint=hint).model_dump(), status_code=status)


def refusal_for(scope: Scope, refusal: Refusal, *, status: int, headers: Mapping[str, str] | None = None) -> Response:
    """A refusal in the shape that suits who asked: JSON below ``/api/``, a page otherwise."""
    if scope["path"].startswith("/api/"):
        return JSONResponse(refusal.model_dump(), status_code=status, headers=headers)
    heading = HEADINGS.get(status, "This cannot be done")
    answer = page(Request(scope), RefusedPage(heading=heading, refusal=refusal), status=status)
    answer.headers.update(headers or {})
    return answer


def tell_errors(application: FastAPI) -> None:
    """Have every error told as a Refusal."""
    application.add_exception_handler(PhrasewrightError, _told)
    application.add_exception_handler(RequestValidationError, _misshapen)
    application.add_exception_handler(HTTPException, _plain)
    application.add_exception_handler(ClientDisconnect, _cut_off)
    application.add_exception_handler(UnicodeEncodeError, _half_a_character)
    application.add_exception_handler(Exception, _failed)


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, PhrasewrightError)
    status = error.status if isinstance(error, RefusedError) else _STATUS.get(type(error), 422)
    problems = [problem_model(one) for one in error.problems] if isinstance(error, LessonError) else []
    refusal = Refusal(message=error.message, hint=error.hint, problems=problems)
    return refusal_for(request.scope, refusal, status=status)


async def _misshapen(request: Request, error: Exception) -> Response:
    details = error.errors() if isinstance(error, RequestValidationError) else []
    first = details[0] if details else {"loc": ("body",), "msg": "not understood"}
    if first["loc"][0] == "path":  # an address that no page can have
        return await _plain(request, HTTPException(404))
    where = ".".join(str(part) for part in first["loc"])[:LONGEST_WHERE]
    message = f"This request is not understood: {where}: {first['msg']}."
    return refusal_for(request.scope, Refusal(message=message), status=422)


async def _plain(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {400: "What was sent cannot be read.", 404: "There is nothing here.", 405: "That cannot be done here."}
    message = words.get(error.status_code, str(error.detail))
    return refusal_for(request.scope, Refusal(message=message), status=error.status_code, headers=error.headers)


async def _cut_off(request: Request, _: Exception) -> Response:
    return refusal_for(request.scope, CUT_OFF, status=400)


async def _half_a_character(request: Request, _: Exception) -> Response:
    message = "There is half a character in what was sent, so it cannot be written down."
    return refusal_for(request.scope, Refusal(message=message, hint="Type the words anew."), status=422)


async def _failed(request: Request, error: Exception) -> Response:
    _LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
    refusal = Refusal(message="The studio failed at this.", hint="Nothing was lost. The terminal says why.")
    return refusal_for(request.scope, refusal, status=500, headers=SAFE_HEADERS)

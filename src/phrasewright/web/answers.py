"""Answers in plain words when something cannot be done, the same shape everywhere."""

from __future__ import annotations

import logging

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from phrasewright.errors import LessonError, OutputError, PhrasewrightError, Problem

_LOG = logging.getLogger("phrasewright.web")


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


class RefusedError(PhrasewrightError):
    """A request that is understood and not met. status: of HTTP."""

    def __init__(self, message: str, *, hint: str = "", status: int = 400) -> None:
        super().__init__(message, hint=hint)
        self.status = status


def problem_model(problem: Problem) -> ProblemModel:
    """A problem as it goes to the browser."""
    return ProblemModel(
        what=problem.what, hint=problem.hint, where=problem.where, line=problem.line, column=problem.column
    )


def refuse(message: str, *, hint: str = "", status: int = 400) -> Response:
    """A refusal as an answer."""
    return JSONResponse(Refusal(message=message, hint=hint).model_dump(), status_code=status)


def tell_errors(application: FastAPI) -> None:
    """Have every error told as a Refusal."""
    application.add_exception_handler(PhrasewrightError, _told)
    application.add_exception_handler(RequestValidationError, _misshapen)
    application.add_exception_handler(HTTPException, _plain)
    application.add_exception_handler(Exception, _failed)


async def _told(_: Request, error: Exception) -> Response:
    assert isinstance(error, PhrasewrightError)
    status = error.status if isinstance(error, RefusedError) else 507 if isinstance(error, OutputError) else 422
    problems = [problem_model(one) for one in error.problems] if isinstance(error, LessonError) else []
    body = Refusal(message=error.message, hint=error.hint, problems=problems)
    return JSONResponse(body.model_dump(), status_code=status)


async def _misshapen(_: Request, error: Exception) -> Response:
    details = error.errors() if isinstance(error, RequestValidationError) else []
    first = details[0] if details else {"loc": ("body",), "msg": "not understood"}
    where = ".".join(str(part) for part in first["loc"])
    return refuse(f"This request is not understood: {where}: {first['msg']}.", status=422)


async def _plain(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {404: "There is nothing here.", 405: "That cannot be done here."}
    return JSONResponse(
        Refusal(message=words.get(error.status_code, str(error.detail))).model_dump(),
        status_code=error.status_code,
        headers=error.headers,
    )


async def _failed(request: Request, error: Exception) -> Response:
    _LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
    return refuse("The studio failed at this.", hint="Nothing was lost. The terminal says why.", status=500)

"""Plain HTML forms (``application/x-www-form-urlencoded``), read without more than the standard library."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated
from urllib.parse import parse_qsl

from fastapi import Depends, Request
from starlette.datastructures import Headers

from phrasewright.web.answers import RefusedError

KIND = "application/x-www-form-urlencoded"
MOST_FIELDS = 100


def is_form(headers: Headers) -> bool:
    """Whether a body is such a form."""
    return headers.get("content-type", "").partition(";")[0].strip().lower() == KIND


def read_form(body: bytes) -> dict[str, str]:
    """The fields of a form, the last one of each name; empty when it has more than a form has."""
    try:
        return dict(parse_qsl(body.decode("latin-1"), keep_blank_values=True, max_num_fields=MOST_FIELDS))
    except ValueError:
        return {}


async def form_of(request: Request) -> Mapping[str, str]:
    """The form that was sent. Raises RefusedError (415) when it was something else."""
    if not is_form(request.headers):
        raise RefusedError("This page expects a form.", status=415)
    return read_form(await request.body())


TheForm = Annotated[Mapping[str, str], Depends(form_of)]

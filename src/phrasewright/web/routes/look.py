"""The colours of paper and ink as a style sheet, so that no file repeats them."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from phrasewright.engrave.palette import palette_style

router = APIRouter(include_in_schema=False)


@router.get("/static/palette.css")
def palette() -> Response:
    """The variables that sheet.css is built on."""
    return Response(palette_style(), media_type="text/css")

"""What every sheet begins with, colours and letters, so that no file of the studio repeats it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from phrasewright.engrave.page.render import paper_style

router = APIRouter(include_in_schema=False)


@router.get("/static/paper.css")
def paper() -> Response:
    """The variables that sheet.css is built on."""
    return Response(paper_style(), media_type="text/css")

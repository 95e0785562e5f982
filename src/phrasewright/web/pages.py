"""Pages for people: a template filled with what every page needs."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from starlette.responses import HTMLResponse

from phrasewright.engrave.page.templating import templates_of
from phrasewright.web.guard.visit import visit_of


def page(request: Request, name: str, *, status: int = 200, language: str = "en", **values: Any) -> HTMLResponse:
    """A page from ``templates/``. status: of HTTP; language: of its words (BCP 47).

    Every template also gets ``token`` (for forms and scripts), ``who`` and ``path``.
    """
    visit = visit_of(request.scope)
    template = templates_of("phrasewright.web").get_template(name)
    known = {"token": visit.token(), "who": visit.who, "language": language, "path": request.url.path}
    return HTMLResponse(template.render(known | values), status_code=status)

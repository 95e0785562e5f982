"""Pages for people: a template filled with what every page needs."""

from __future__ import annotations

from dataclasses import fields

from fastapi import Request
from starlette.responses import HTMLResponse

from phrasewright.engrave.page.templating import templates_of
from phrasewright.web.guard.visit import visit_of
from phrasewright.web.page_models import PageModel


def page(request: Request, model: PageModel, *, status: int = 200, language: str = "en") -> HTMLResponse:
    """A page of its model. status: of HTTP; language: of its words (BCP 47).

    Every template also gets ``token`` (for forms and scripts), ``who`` and ``path``.
    """
    visit = visit_of(request.scope)
    template = templates_of("phrasewright.web").get_template(model.template)
    shown = {field.name: getattr(model, field.name) for field in fields(model)}
    known = {"token": visit.token(), "who": visit.who, "language": language, "path": request.url.path}
    return HTMLResponse(template.render(known | shown), status_code=status)

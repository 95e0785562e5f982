"""The studio as one ASGI application: every route, in one table."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from phrasewright import __version__
from phrasewright.web.answers import Refusal, tell_errors
from phrasewright.web.guard.guard import guard
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.routes import desk, entrance, lessons, look, pages, people
from phrasewright.web.studio import Studio

ROUTERS: tuple[APIRouter, ...] = (
    entrance.router,
    look.router,
    people.pages,
    people.router,
    lessons.router,
    desk.router,
    pages.router,
)


def create_application(studio: Studio, sharing: Sharing | None = None) -> FastAPI:
    """The application that serves one studio; sharing: with whom, only this computer when left out."""
    application = FastAPI(
        title="Phrasewright studio",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses={400: {"model": Refusal}, 404: {"model": Refusal}, 422: {"model": Refusal}},
    )
    application.state.studio = studio
    application.state.is_ending = lambda: False  # whoever serves it knows better
    for router in ROUTERS:
        application.include_router(router)
    for path, package in (("/static/player", "phrasewright.engrave.page"), ("/static", "phrasewright.web")):
        folder = Path(str(resources.files(package).joinpath("static")))
        application.mount(path, StaticFiles(directory=folder), name=path)
    tell_errors(application)
    guard(application, sharing or Sharing())
    return application

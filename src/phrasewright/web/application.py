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
from phrasewright.web.pack_shelf import PackShelf
from phrasewright.web.routes import desk, entrance, jobs, lessons, look, packs, pages, people, room, takes
from phrasewright.web.studio import Studio
from phrasewright.web.working import at_work, give_jobs

ROUTERS: tuple[APIRouter, ...] = (
    entrance.router,
    look.router,
    people.pages,
    people.router,
    pages.router,
    lessons.router,
    desk.router,
    packs.router,
    room.router,
    takes.router,
    jobs.router,
)


def create_application(studio: Studio, sharing: Sharing | None = None) -> FastAPI:
    """The application that serves one studio; sharing: with whom, only this computer when left out."""
    application = FastAPI(
        title="Phrasewright studio",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=at_work,
        responses={400: {"model": Refusal}, 404: {"model": Refusal}, 422: {"model": Refusal}},
    )
    application.state.studio = studio
    application.state.packs = PackShelf()
    give_jobs(application, studio)
    for router in ROUTERS:
        application.include_router(router)
    for path, package in (("/static/player", "phrasewright.engrave.page"), ("/static", "phrasewright.web")):
        folder = Path(str(resources.files(package).joinpath("static")))
        application.mount(path, StaticFiles(directory=folder), name=path)
    tell_errors(application)
    guard(application, sharing or Sharing())
    return application

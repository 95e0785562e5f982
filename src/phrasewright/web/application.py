"""The studio as one ASGI application: every route, in one table."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from phrasewright import __version__
from phrasewright.web.answers import Refusal, tell_errors
from phrasewright.web.pack_shelf import PackShelf
from phrasewright.web.routes import jobs, packs, room, takes
from phrasewright.web.studio import Studio
from phrasewright.web.working import at_work, give_jobs

ROUTERS: tuple[APIRouter, ...] = (jobs.router, packs.router, room.router, takes.router)


def create_application(studio: Studio) -> FastAPI:
    """The application that serves one studio."""
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
    static = Path(str(resources.files("phrasewright.web").joinpath("static")))
    application.mount("/static", StaticFiles(directory=static, check_dir=False), name="static")
    tell_errors(application)
    return application

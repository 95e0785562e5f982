"""The studio as one ASGI application: every route, in one table."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from phrasewright import __version__
from phrasewright.web.answers import Refusal, tell_errors
from phrasewright.web.routes import look
from phrasewright.web.studio import Studio

ROUTERS: tuple[APIRouter, ...] = (look.router,)


def create_application(studio: Studio) -> FastAPI:
    """The application that serves one studio."""
    application = FastAPI(
        title="Phrasewright studio",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses={400: {"model": Refusal}, 404: {"model": Refusal}, 422: {"model": Refusal}},
    )
    application.state.studio = studio
    for router in ROUTERS:
        application.include_router(router)
    static = Path(str(resources.files("phrasewright.web").joinpath("static")))
    application.mount("/static", StaticFiles(directory=static), name="static")
    tell_errors(application)
    return application

"""The jobs of an application: begun with it, ended with it, given to routes."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Annotated

from fastapi import Depends, FastAPI, Request

from phrasewright.course.asked import Asked
from phrasewright.web.jobs.errands import StudioErrands
from phrasewright.web.jobs.jobs import Jobs
from phrasewright.web.studio import Studio


def give_jobs(application: FastAPI, studio: Studio) -> None:
    """Let an application have jobs; they work while it is open."""
    application.state.errands = StudioErrands(studio)
    application.state.jobs = Jobs(application.state.errands)


@asynccontextmanager
async def at_work(application: FastAPI) -> AsyncIterator[None]:
    """While an application is open: tidy first, then work. Raises OutputError."""
    jobs: Jobs = application.state.jobs
    waiting: tuple[Asked, ...] = await asyncio.to_thread(application.state.errands.after_a_start)
    jobs.start(waiting)
    try:
        yield
    finally:
        await jobs.stop()


async def jobs_of(request: Request) -> Jobs:
    """The jobs of the studio that answers a request."""
    jobs: Jobs = request.app.state.jobs
    return jobs


TheJobs = Annotated[Jobs, Depends(jobs_of)]

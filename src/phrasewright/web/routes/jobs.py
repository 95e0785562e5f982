"""Jobs: how far they are, told as it happens, ended when they are not wanted."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Header
from starlette.responses import Response, StreamingResponse

from phrasewright.web.answers import Refusal, RefusedError
from phrasewright.web.guard.names import JobId
from phrasewright.web.guard.visit import Who
from phrasewright.web.guard.who import TheWho, may_see
from phrasewright.web.jobs.jobs import Job, Jobs
from phrasewright.web.jobs.told import Told
from phrasewright.web.working import TheJobs

HEARTBEAT_S = 15.0
router = APIRouter(tags=["jobs"])


class JobModel(Told):
    """A job. kind: ``pack``, ``listen``; subject: id of the lesson or take it is about."""

    id: str
    kind: str
    subject: str


@router.get("/api/jobs/{job_id}")
async def job(job_id: JobId, jobs: TheJobs, who: TheWho) -> JobModel:
    """How far a job is."""
    return _model(_found(jobs, job_id, who))


@router.get(
    "/api/jobs/{job_id}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}, 204: {"description": "The end is known already."}},
)
async def events(
    job_id: JobId, jobs: TheJobs, who: TheWho, last_event_id: Annotated[str, Header(max_length=20)] = ""
) -> Response:
    """What is told of a job, as server-sent events; the latest at once, and nothing more after the end."""
    found = _found(jobs, job_id, who)
    known = int(last_event_id) if last_event_id.isascii() and last_event_id.isdecimal() else -1
    if found.told.state.is_end and known == found.version:
        return Response(status_code=204)  # the browser does not come back (HTML, 9.2: server-sent events)
    return StreamingResponse(
        _lines(jobs, found, known),
        media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )


@router.delete("/api/jobs/{job_id}", responses={404: {"model": Refusal}})
async def cancel(job_id: JobId, jobs: TheJobs, who: TheWho) -> JobModel:
    """End a job; one that has ended stays as it is."""
    found = _found(jobs, job_id, who)
    await jobs.cancel(found)
    return _model(found)


async def _lines(jobs: Jobs, found: Job, known: int) -> AsyncIterator[str]:
    async for told in jobs.listen(found, after=known, pause_s=HEARTBEAT_S):
        if told is None:
            yield ": still here\n\n"
        else:
            version, last = told
            yield f"id: {version}\ndata: {last.model_dump_json()}\n\n"


def _found(jobs: Jobs, job_id: str, who: Who) -> Job:
    found = jobs.find(job_id)
    if found is None or not may_see(who, found.asked.owner):
        raise RefusedError("There is no such job.", status=404)
    return found


def _model(found: Job) -> JobModel:
    return JobModel(
        id=found.asked.job_id, kind=found.asked.kind, subject=found.asked.subject, **found.told.model_dump()
    )

"""The work that the studio has given away: at most one build and one listening at a time, the others in line.

What a job is about is known by ids alone; ``Errands`` turns them into paths and remembers what becomes of them.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass, field
from typing import Protocol

from phrasewright.course.asked import Asked
from phrasewright.errors import PhrasewrightError
from phrasewright.web.answers import RefusedError
from phrasewright.web.jobs.child import BROKE_DOWN, TOO_SLOW, Child, ask_once
from phrasewright.web.jobs.fair import FairLine
from phrasewright.web.jobs.told import JobKind, JobRequest, JobState, Told, failed

KINDS = (JobKind.PACK, JobKind.LISTEN)
MOST_WAITING = {JobKind.PACK: 20, JobKind.LISTEN: 120}
LONGEST_S = {JobKind.PACK: 45 * 60.0, JobKind.LISTEN: 30 * 60.0}
MOST_TRIES = 3  # then a job that ended the studio each time is given up
ASKED_AT_ONCE = 2  # short questions, out of the line
KEPT_S = 3600.0  # what became of a job is known for so long
_LOG = logging.getLogger("phrasewright.web")


class Errands(Protocol):
    """What jobs are about; called in a thread, may wait for disk and database."""

    def begin(self, asked: Asked) -> JobRequest:
        """What to ask a working process for. Raises PhrasewrightError when it cannot be done."""

    def settle(self, asked: Asked, told: Told) -> None:
        """Remember the end of a job; what a process that was ended left behind is removed."""


@dataclass(slots=True, eq=False)
class Job:
    """One job. version: counts what was told; changed: set and renewed whenever something is told."""

    asked: Asked
    told: Told = field(default_factory=lambda: Told(words="waiting"))
    version: int = 0
    changed: asyncio.Event = field(default_factory=asyncio.Event)
    ended_at_s: float | None = None
    is_unwanted: bool = False
    child: Child | None = None

    @property
    def kind(self) -> JobKind:
        """What it does."""
        return JobKind(self.asked.kind)

    def tell(self, told: Told) -> None:
        """Tell everybody who listens."""
        self.told, self.version = told, self.version + 1
        if told.state.is_end:
            self.ended_at_s = time.monotonic()
        before, self.changed = self.changed, asyncio.Event()
        before.set()


class Jobs:
    """All jobs of one studio. Used from the event loop alone."""

    def __init__(self, errands: Errands) -> None:
        self._errands = errands
        self._jobs: dict[str, Job] = {}
        self._lines: dict[JobKind, FairLine[Job]] = {kind: FairLine() for kind in KINDS}
        self._wake: dict[JobKind, asyncio.Event] = {kind: asyncio.Event() for kind in KINDS}
        self._working: list[asyncio.Task[None]] = []
        self._asking = asyncio.Semaphore(ASKED_AT_ONCE)
        self._leaving = False

    async def ask(self, request: JobRequest, *, limit_s: float) -> Told:
        """Ask a process for something short, out of the line; its end."""
        async with self._asking:
            return await ask_once(request, limit_s=limit_s)

    def start(self, waiting: Iterable[Asked]) -> None:
        """Begin to work; first on what waited when the studio was ended."""
        for asked in waiting:
            self._put(asked)
        self._working = [asyncio.create_task(self._work(kind)) for kind in KINDS]

    async def stop(self) -> None:
        """End all work; what is not done is found again at the next start."""
        for task in self._working:
            task.cancel()
        await asyncio.gather(*self._working, return_exceptions=True)

    def check_room(self, kind: JobKind) -> None:
        """Raises RefusedError (503) when too much waits."""
        if len(self._lines[kind]) >= MOST_WAITING[kind]:
            raise RefusedError("Too much work is waiting.", hint="Try again in a few minutes.", status=503)

    def waiting_for(self, kind: JobKind, subject: str) -> Job | None:
        """The job about something that has not begun yet."""
        for job in self._jobs.values():
            if job.kind is kind and job.asked.subject == subject and job.told.state is JobState.QUEUED:
                return job
        return None

    def working(self) -> dict[str, str]:
        """What is worked on or waits -> the id of the latest job about it."""
        jobs = list(self._jobs.values())
        return {job.asked.subject: job.asked.job_id for job in jobs if not job.told.state.is_end}

    def put(self, asked: Asked) -> Job:
        """Have something done; it must be remembered already."""
        self._forget_old()
        job = self._jobs.get(asked.job_id) or self._put(asked)
        self._wake[job.kind].set()
        return job

    def find(self, job_id: str) -> Job | None:
        """A job, also for some time after its end."""
        return self._jobs.get(job_id)

    async def cancel(self, job: Job) -> None:
        """End a job; one that has ended stays as it is."""
        if job.told.state.is_end:
            return
        job.is_unwanted = True
        if self._lines[job.kind].remove(job):
            await self._end(job, Told(state=JobState.CANCELLED, words="cancelled"))
        elif job.child is not None:
            await job.child.end()

    def say_goodbye(self) -> None:
        """End all listening, as the studio is about to end; work goes on until ``stop``."""
        self._leaving = True
        for job in self._jobs.values():
            job.changed.set()

    async def listen(self, job: Job, *, after: int = -1, pause_s: float) -> AsyncIterator[tuple[int, Told] | None]:
        """What is told of a job from now on, the latest at once unless it is known; None after each silent pause."""
        version = after
        while True:
            changed = job.changed
            if job.version != version:
                version, told = job.version, job.told
                yield version, told
                if told.state.is_end:
                    return
                continue
            if self._leaving:
                return
            try:
                await asyncio.wait_for(changed.wait(), pause_s)
            except TimeoutError:
                yield None

    def _put(self, asked: Asked) -> Job:
        job = self._jobs[asked.job_id] = Job(asked)
        self._lines[job.kind].put(asked.owner, job)
        return job

    def _forget_old(self) -> None:
        long_ago = time.monotonic() - KEPT_S
        for job_id, job in list(self._jobs.items()):
            if job.ended_at_s is not None and job.ended_at_s < long_ago:
                del self._jobs[job_id]

    async def _work(self, kind: JobKind) -> None:
        line, wake = self._lines[kind], self._wake[kind]
        while True:
            while not len(line):
                wake.clear()
                await wake.wait()
            job = line.take()
            try:
                last = await self._carry_out(job)
            except OSError as error:  # no process to be had
                last = failed(f"This could not be begun: {error.strerror}.", "Try it again later.")
            await self._end(job, last)

    async def _carry_out(self, job: Job) -> Told:
        if job.asked.tries >= MOST_TRIES:
            return failed("This broke off every time it was tried.", "Ask for it again when the computer is free.")
        job.tell(Told(state=JobState.RUNNING, words="beginning"))
        try:
            request = await asyncio.to_thread(self._errands.begin, job.asked)
        except PhrasewrightError as error:
            return failed(error.message, error.hint)
        if job.is_unwanted:
            return Told(state=JobState.CANCELLED, words="cancelled")
        job.child = await Child.start(request)
        last = BROKE_DOWN
        try:
            if job.is_unwanted:  # since a moment ago
                return Told(state=JobState.CANCELLED, words="cancelled")
            async with asyncio.timeout(LONGEST_S[job.kind]):
                async for last in job.child.told():
                    if not last.state.is_end:
                        job.tell(last)
        except TimeoutError:
            last = TOO_SLOW
        finally:
            await job.child.end()
            job.child = None
        if job.is_unwanted and last.state is not JobState.DONE:
            return Told(state=JobState.CANCELLED, words="cancelled")
        return last

    async def _end(self, job: Job, last: Told) -> None:
        """What becomes of a job is remembered before it is told."""
        try:
            await asyncio.to_thread(self._errands.settle, job.asked, last)
        except Exception:
            _LOG.exception("the end of job %s could not be remembered", job.asked.job_id)
            last = BROKE_DOWN
        job.tell(last)

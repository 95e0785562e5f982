"""Jobs: one at a time, fair, told to everybody, ended when not wanted, found again after a start."""

from __future__ import annotations

import asyncio
import sys
import time
from collections.abc import Callable, Coroutine
from pathlib import Path

import pytest

from phrasewright.course.asked import Asked
from phrasewright.errors import PhrasewrightError
from phrasewright.web.answers import RefusedError
from phrasewright.web.jobs import child, jobs
from phrasewright.web.jobs.jobs import Job, Jobs
from phrasewright.web.jobs.told import JobKind, JobRequest, JobState, PackRequest, Told

STUB = Path(__file__).with_name("stub_worker.py")


class Errands:
    """The subject says what the stub does; every end is remembered."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "log"
        self.settled: list[tuple[str, JobState]] = []

    def begin(self, asked: Asked) -> JobRequest:
        if asked.subject == "gone":
            raise PhrasewrightError("There is no such lesson.", hint="Look again.")
        return PackRequest(lesson=Path(asked.subject), pack=self.log)

    def settle(self, asked: Asked, told: Told) -> None:
        self.settled.append((asked.subject, told.state))

    def begun(self) -> list[str]:
        return [line.split()[0] for line in self.log.read_text().splitlines()] if self.log.exists() else []

    def pids(self) -> list[int]:
        return [int(line.split()[1]) for line in self.log.read_text().splitlines()]


@pytest.fixture
def errands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Errands:
    monkeypatch.setattr(child, "COMMAND", (sys.executable, "-S", str(STUB)))
    monkeypatch.setattr(child, "PATIENCE_S", 0.5)
    return Errands(tmp_path)


def asked(subject: str, *, owner: str = "", tries: int = 0, kind: JobKind = JobKind.PACK) -> Asked:
    return Asked(job_id=f"{kind}-{subject}", kind=kind, subject=subject, owner=owner, tries=tries)


def at_work(errands: Errands, doing: Callable[[Jobs], Coroutine[None, None, None]], *waiting: Asked) -> None:
    async def whole() -> None:
        working = Jobs(errands)
        working.start(waiting)
        try:
            async with asyncio.timeout(20.0):
                await doing(working)
        finally:
            await working.stop()

    asyncio.run(whole())


async def end_of(working: Jobs, job: Job) -> Told:
    last = None
    async for told in working.listen(job, pause_s=20.0):
        last = told
    assert last is not None
    return last[1]


async def running(job: Job) -> None:
    while job.told.words != f"doing {job.asked.subject}":
        await asyncio.sleep(0.01)


def test_a_job_is_done_and_told_to_all(errands: Errands) -> None:
    """Two who listen hear the same end; one who comes late hears it at once."""

    async def doing(working: Jobs) -> None:
        job = working.put(asked("tune"))
        ends = await asyncio.gather(end_of(working, job), end_of(working, job))
        late = await end_of(working, job)
        assert ends == [late, late]
        assert late.state is JobState.DONE
        assert late.result is not None
        assert errands.settled == [("tune", JobState.DONE)]
        assert working.find("pack-tune") is job

    at_work(errands, doing)


@pytest.mark.parametrize(
    ("subject", "words"),
    [
        ("crash", "This work broke down."),
        ("rubbish", "This work broke down."),
        ("refused", "It cannot be done."),
        ("gone", "There is no such lesson."),
    ],
)
def test_failures_are_told_in_words(errands: Errands, subject: str, words: str) -> None:
    """A process that dies or talks rubbish, a refusal, a lesson that is gone; the next job is done all the same."""

    async def doing(working: Jobs) -> None:
        told = await end_of(working, working.put(asked(subject)))
        assert told.state is JobState.FAILED
        assert told.refusal is not None
        assert told.refusal.message == words
        assert (await end_of(working, working.put(asked("tune")))).state is JobState.DONE

    at_work(errands, doing)


def test_one_build_and_one_listening_at_a_time_and_turns(errands: Errands) -> None:
    """The second build waits for the first; owners take turns; a listening does not wait for a build."""

    async def doing(working: Jobs) -> None:
        long = working.put(asked("long", owner="ana"))
        await running(long)
        others = [working.put(asked(name, owner=name[:3])) for name in ("ana-1", "ana-2", "ben-1")]
        listening = working.put(asked("heard", owner="cas", kind=JobKind.LISTEN))
        assert (await end_of(working, listening)).state is JobState.DONE
        assert [job.told.state for job in others] == [JobState.QUEUED] * 3
        await working.cancel(long)
        for job in others:
            await end_of(working, job)
        assert [name for name in errands.begun() if name != "heard"] == ["long", "ana-1", "ben-1", "ana-2"]

    at_work(errands, doing)


def test_a_job_is_cancelled_waiting_or_running(errands: Errands) -> None:
    """A waiting one never begins; of a running one the process is gone when the cancelling is told."""

    async def doing(working: Jobs) -> None:
        first, second = working.put(asked("long")), working.put(asked("tune"))
        await running(first)
        await working.cancel(second)
        await working.cancel(first)
        assert (await end_of(working, first)).state is JobState.CANCELLED
        assert (await end_of(working, second)).state is JobState.CANCELLED
        assert errands.begun() == ["long"]
        assert not Path(f"/proc/{errands.pids()[0]}").exists()
        await working.cancel(first)
        assert first.told.state is JobState.CANCELLED

    at_work(errands, doing)


def test_a_job_is_cancelled_while_its_process_starts(errands: Errands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody waits for what was not wanted in that moment."""
    start = child.Child.start

    async def doing(working: Jobs) -> None:
        async def meanwhile(request: JobRequest) -> child.Child:
            await working.cancel(job)
            return await start(request)

        monkeypatch.setattr(child.Child, "start", meanwhile)
        job = working.put(asked("long"))
        assert (await end_of(working, job)).state is JobState.CANCELLED

    at_work(errands, doing)


def test_what_waited_is_done_after_a_start_but_not_for_ever(errands: Errands) -> None:
    """Work of an ended studio is begun again; what ended it three times is given up."""

    async def doing(working: Jobs) -> None:
        first, second = working.find("pack-tune"), working.find("pack-heavy")
        assert first is not None
        assert second is not None
        assert (await end_of(working, first)).state is JobState.DONE
        assert (await end_of(working, second)).state is JobState.FAILED
        assert errands.begun() == ["tune"]

    at_work(errands, doing, asked("tune", tries=2), asked("heavy", tries=3))


def test_a_stop_ends_the_work_and_forgets_nothing(errands: Errands) -> None:
    """The process is gone after a stop; its end is not remembered, so that it is found again."""

    async def doing(working: Jobs) -> None:
        await running(working.put(asked("long")))

    at_work(errands, doing)
    assert errands.settled == []
    assert not Path(f"/proc/{errands.pids()[0]}").exists()


def test_too_slow_is_stopped(errands: Errands, monkeypatch: pytest.MonkeyPatch) -> None:
    """A job has a longest time."""
    monkeypatch.setitem(jobs.LONGEST_S, JobKind.PACK, 0.3)

    async def doing(working: Jobs) -> None:
        told = await end_of(working, working.put(asked("long")))
        assert told.refusal is not None
        assert "too long" in told.refusal.message

    at_work(errands, doing)


def test_a_line_that_is_too_long_is_refused(errands: Errands, monkeypatch: pytest.MonkeyPatch) -> None:
    """503, in words; room for listening is counted by itself."""
    monkeypatch.setitem(jobs.MOST_WAITING, JobKind.PACK, 2)

    async def doing(working: Jobs) -> None:
        await running(working.put(asked("long")))
        working.put(asked("one"))
        working.check_room(JobKind.PACK)
        working.put(asked("two"))
        with pytest.raises(RefusedError, match="Too much work") as caught:
            working.check_room(JobKind.PACK)
        assert caught.value.status == 503
        working.check_room(JobKind.LISTEN)
        assert working.waiting_for(JobKind.PACK, "two") is not None
        assert working.waiting_for(JobKind.PACK, "long") is None
        assert working.working() == {"long": "pack-long", "one": "pack-one", "two": "pack-two"}

    at_work(errands, doing)


def test_silence_is_filled_with_heartbeats(errands: Errands) -> None:
    """Who listens to a silent job is told that it is still there; known news is not told again."""

    async def doing(working: Jobs) -> None:
        job = working.put(asked("long"))
        await running(job)
        heard = [told async for told in _first(3, working, job)]
        assert heard[0] is not None
        assert heard[1:] == [None, None]
        assert [told async for told in _first(1, working, job, after=heard[0][0])] == [None]

    at_work(errands, doing)


def test_listening_ends_when_the_studio_is_about_to(errands: Errands) -> None:
    """Whoever listens is let go; the work itself goes on until it is stopped."""

    async def doing(working: Jobs) -> None:
        job = working.put(asked("long"))
        await running(job)
        listening = asyncio.create_task(end_of(working, job))
        await asyncio.sleep(0.05)
        working.say_goodbye()
        assert (await listening).state is JobState.RUNNING
        assert job.told.state is JobState.RUNNING

    at_work(errands, doing)


async def _first(count: int, working: Jobs, job: Job, *, after: int = -1):  # type: ignore[no-untyped-def]
    async for told in working.listen(job, after=after, pause_s=0.05):
        yield told
        count -= 1
        if not count:
            return


def test_ends_are_forgotten_in_time(errands: Errands, monkeypatch: pytest.MonkeyPatch) -> None:
    """An end is known for a while; then the job is as if it had never been."""

    async def doing(working: Jobs) -> None:
        await end_of(working, working.put(asked("one")))
        now = time.monotonic()
        monkeypatch.setattr(jobs.time, "monotonic", lambda: now + jobs.KEPT_S + 1.0)
        working.put(asked("two"))
        assert working.find("pack-one") is None
        assert working.find("pack-two") is not None

    at_work(errands, doing)

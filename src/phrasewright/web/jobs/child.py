"""A working process seen from the studio: started, asked, heard, ended with all that it started."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator
from contextlib import suppress

from pydantic import ValidationError

from phrasewright.web.jobs.told import JobRequest, Told, failed

LONGEST_LINE = 1 << 20  # bytes
PATIENCE_S = 2.0  # between asking a process to end and ending it
COMMAND = (sys.executable, "-m", "phrasewright.web.jobs.worker")
BROKE_DOWN = failed("This work broke down.", "Nothing was lost; try it again. The terminal of the studio says why.")
TOO_SLOW = failed("This took too long and was stopped.", "Try it again when the computer has less to do.")


class Child:
    """One working process."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self._process = process

    @classmethod
    async def start(cls, request: JobRequest) -> Child:
        """A process at work on a request; its stdin stays open as long as we live.

        It leads a group of its own, so that it can be ended with all that it starts, in our session: Linux weighs
        sessions against each other before it looks at how nice a process is.
        """
        pipe = asyncio.subprocess.PIPE
        process = await asyncio.create_subprocess_exec(
            *COMMAND, request.kind, stdin=pipe, stdout=pipe, limit=LONGEST_LINE, process_group=0
        )
        child = cls(process)
        with suppress(BrokenPipeError, ConnectionResetError):
            assert process.stdin is not None
            process.stdin.write(request.model_dump_json().encode() + b"\n")
            await process.stdin.drain()
        return child

    async def told(self) -> AsyncIterator[Told]:
        """What it tells, as it comes; the last is its end, which is made up where it told none."""
        assert self._process.stdout is not None
        ended = False
        async for line in self._process.stdout:
            try:
                told = Told.model_validate_json(line)
            except ValidationError:
                break
            yield told
            ended = told.state.is_end
            if ended:
                break
        if not ended:
            yield BROKE_DOWN

    async def end(self) -> None:
        """See it end, by force if it does not by itself; nothing that it started stays."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        for number in (signal.SIGTERM, signal.SIGKILL):
            if self._process.returncode is None:
                self._signal(number)
                with suppress(TimeoutError):
                    await asyncio.wait_for(self._process.wait(), PATIENCE_S)
        await self._process.wait()

    def _signal(self, number: int) -> None:
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(self._process.pid, number)


async def ask_once(request: JobRequest, *, limit_s: float) -> Told:
    """Ask a process of its own and wait for its end, at most so long."""
    child = await Child.start(request)
    try:
        async with asyncio.timeout(limit_s):
            return [told async for told in child.told()][-1]
    except TimeoutError:
        return TOO_SLOW
    finally:
        await child.end()

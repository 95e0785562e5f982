"""Running the studio until it is told to end, and ending it without a word too many."""

from __future__ import annotations

import asyncio
import socket
import sys
from types import FrameType

import uvicorn
from fastapi import FastAPI

from phrasewright.web.jobs.jobs import Jobs

PATIENCE_S = 3  # for answers that are under way when the studio ends
COULD_NOT_START = 3  # exit code


def run_studio(application: FastAPI, *, host: str, port: int) -> None:
    """Answer requests until Ctrl-C or SIGTERM."""
    config = uvicorn.Config(
        application, host=host, port=port, log_level="warning", timeout_graceful_shutdown=PATIENCE_S
    )
    server = _Server(config, application.state.jobs)
    server.run()
    if not server.started:
        sys.exit(COULD_NOT_START)


class _Server(uvicorn.Server):
    """Ends what would wait for ever, the lines on which jobs are told, before it waits for the rest."""

    def __init__(self, config: uvicorn.Config, jobs: Jobs) -> None:
        super().__init__(config)
        self._jobs = jobs
        self._loop: asyncio.AbstractEventLoop | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, and know the loop that signals come to."""
        self._loop = asyncio.get_running_loop()
        await super().startup(sockets=sockets)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Begin to end."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._jobs.say_goodbye)
        super().handle_exit(sig, frame)

"""The studio on a port: uvicorn, with a limit on everything that a client could leave hanging."""

from __future__ import annotations

import asyncio
import errno
import gc
import os
import socket
import sys
from pathlib import Path
from types import FrameType

import h11
import uvicorn
from fastapi import FastAPI
from uvicorn.protocols.http.h11_impl import H11Protocol

from phrasewright.errors import PhrasewrightError
from phrasewright.web.jobs.jobs import Jobs

HEAD_S = 20.0  # for the head of a request to be whole
HEAD_BYTES = 32_768
MOST_CONNECTIONS = 500
COULD_NOT_START = 3  # exit code
PATIENCE_S = 3  # for answers that are under way when the studio ends


class PortError(PhrasewrightError):
    """A port that the studio cannot have."""

    exit_code = COULD_NOT_START


class TimelyProtocol(H11Protocol):
    """Ends connections whose request has no whole head in time; uvicorn alone would wait for ever."""

    head_s = HEAD_S
    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._await_head()

    def data_received(self, data: bytes) -> None:
        """Take in what came, and wait for the rest of a head that has begun."""
        super().data_received(data)
        if self.conn.their_state is not h11.IDLE:
            self._forget()
        elif self._late is None:
            self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._forget()
        super().connection_lost(exc)

    def _await_head(self) -> None:
        self._late = self.loop.call_later(self.head_s, self._give_up)

    def _forget(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _give_up(self) -> None:
        self._late = None
        if self.conn.their_state is h11.IDLE and not self.transport.is_closing():
            self.transport.close()


def server_for(
    application: FastAPI,
    *,
    host: str,
    port: int,
    is_behind_proxy: bool = False,
    certificate: Path | None = None,
    key: Path | None = None,
    head_s: float = HEAD_S,
) -> uvicorn.Server:
    """The server of an application, not yet running.

    is_behind_proxy: believe what a proxy on this computer says about the client and https. certificate, key: PEM
    files, for https without a proxy. head_s: how long a request may take to say what it wants.
    """
    protocol = type("Protocol", (TimelyProtocol,), {"head_s": head_s})
    return _Server(
        uvicorn.Config(
            application,
            host=host,
            port=port,
            http=protocol,
            ws="none",
            loop="asyncio",
            log_level="warning",
            server_header=False,
            proxy_headers=is_behind_proxy,
            forwarded_allow_ips="127.0.0.1",
            ssl_certfile=certificate,
            ssl_keyfile=key,
            limit_concurrency=MOST_CONNECTIONS,
            timeout_graceful_shutdown=PATIENCE_S,
            h11_max_incomplete_event_size=HEAD_BYTES,
        ),
        application.state.jobs,
    )


def bound_to(host: str, port: int) -> socket.socket:
    """A socket that is nobody else's, and hears nothing before the studio is ready. Raises PortError."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # named TCP: asyncio sends at once on no others, and every answer waits 40 ms for the client to acknowledge
    bound = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # a port that was the studio's just now
    try:
        bound.bind((host, port))
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            what, hint = "is taken by another program", f"End that one, or choose another port: --port {port + 1}."
        else:
            what, hint = f"at {host} cannot be had: {error.strerror}", "Choose another port or address."
        bound.close()
        raise PortError(f"Port {port} {what}.", hint=hint) from error
    return bound


def run(server: uvicorn.Server, bound: socket.socket) -> None:
    """Answer requests until Ctrl-C or SIGTERM; ends the program when it cannot start. bound: of ``bound_to``."""
    gc.collect()
    gc.freeze()  # what is loaded stays: looking through it for garbage held an answer up for 80 ms now and then
    server.run(sockets=[bound])
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

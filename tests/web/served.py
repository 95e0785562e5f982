"""A studio on a real port, for a test's own sockets and browsers."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn


@contextmanager
def running(server: uvicorn.Server) -> Iterator[int]:
    """A server on a free port of this computer, stopped at the end."""
    listening = socket.create_server(("127.0.0.1", 0))
    thread = threading.Thread(target=server.run, args=([listening],))
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()
        assert not thread.is_alive()

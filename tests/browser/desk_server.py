"""A studio on a free port of this computer, in a thread, stopped when the block ends."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from phrasewright.web.application import create_application
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.serving import server_for
from phrasewright.web.studio import Studio, open_studio

BEGIN_S = 20.0


@dataclass(frozen=True)
class Served:
    """Where a studio is reached, and what it works on."""

    url: str
    studio: Studio


@contextmanager
def served(folder: Path, sharing: Sharing | None = None) -> Iterator[Served]:
    """A studio on a folder of lessons. sharing: with a class, None = with nobody."""
    studio = open_studio(folder)
    server = server_for(create_application(studio, sharing), host="127.0.0.1", port=0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    end = time.monotonic() + BEGIN_S
    while not server.started:
        assert thread.is_alive(), "the studio has ended"
        assert time.monotonic() < end, "the studio does not begin"
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield Served(url=f"http://127.0.0.1:{port}", studio=studio)
    finally:
        server.should_exit = True
        thread.join(timeout=10)
        assert not thread.is_alive(), "the studio does not end"

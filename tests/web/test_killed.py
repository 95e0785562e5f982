"""A studio that is killed without warning loses nothing that it acknowledged (docs/server.md).

``benchmarks/kill_nine.py`` does the same two hundred times.
"""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from kill_rounds import kill_rounds
from studio_server import LESSON_ID, NAME, StudioServer, all_gone, lesson_in


def test_killed_in_the_middle_of_anything(tmp_path: Path) -> None:
    """Uploads, builds and saves, killed at moments drawn by chance."""
    seen = kill_rounds(tmp_path, ("upload", "save", "build", "save"), seed=5)
    assert seen["save"]["changes acknowledged"] > 0
    assert seen["upload"]["takes acknowledged"] > 0
    assert seen["upload"]["uploads broken off"] > 0
    assert seen["build"]["kills"] == 1


def test_it_ends_at_once_and_goes_on_later(tmp_path: Path) -> None:
    """Ctrl-C while a page listens to a build: nothing works on, no complaint; the next start goes on with it."""
    lesson_in(tmp_path)
    with (tmp_path / "log").open("wb") as log, StudioServer(tmp_path, log=log) as server:
        job = server.client.post(f"/api/lessons/{LESSON_ID}/pack").json()["job"]
        with server.client.stream("GET", f"/api/jobs/{job}/events") as events:
            lines = events.iter_lines()
            while '"state":"running"' not in next(lines):
                pass
            working = server.workers()
            server.process.send_signal(signal.SIGINT)
            assert all("data: " not in line or "running" in line for line in lines)
        server.process.wait(15)
        assert all_gone(working)
    assert (tmp_path / "log").read_text() == ""
    with StudioServer(tmp_path) as server:
        assert server.client.get(f"/api/jobs/{job}").json()["state"] in ("queued", "running")
        server.client.delete(f"/api/jobs/{job}")
        assert server.ended(job)["state"] in ("cancelled", "done")


def test_a_worker_that_is_killed_is_told(tmp_path: Path) -> None:
    """The system may end a process that takes too much memory: the job failed, in words, its scratch is gone."""
    lesson_in(tmp_path)
    with StudioServer(tmp_path) as server:
        job = server.client.post(f"/api/lessons/{LESSON_ID}/pack").json()["job"]
        pack = tmp_path / "packs" / NAME
        ends = time.monotonic() + 30.0
        while not list(pack.glob(".making-*")) and time.monotonic() < ends:
            time.sleep(0.02)
        (worker,) = server.workers()
        os.kill(worker, signal.SIGKILL)
        told = server.ended(job)
        assert told["state"] == "failed"
        assert told["refusal"]["message"] == "This work broke down."
        assert not list(pack.glob(".making-*"))
        assert all_gone([worker])

"""A studio in a process of its own, on a folder with one tiny lesson; it can be killed without warning."""

from __future__ import annotations

import hashlib
import io
import os
import signal
import socket
import subprocess
import sys
import time
import wave
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from random import Random
from typing import IO, Any

import httpx2
from studio_clients import page_headers

from phrasewright.course import history
from phrasewright.course.history import Step
from phrasewright.web.studio import open_studio

NAME = "tiny"
LESSON_ID = "7" * 12
TINY_LESSON = """\
[lesson]
title = "Tiny"
words = "Version 0."
seed = 7

[scale]
root = "E"
kind = "minor-pentatonic"

[position]
style = "open"

[motifs]
sizes = [3]
shelf = 2

[rhythm]
counts = ["1 2 3"]

[band]
groove = "shuffle"
tempos = [240]
chart = "| Em7 | A7 |"

[exercises]
kinds = ["each-alone"]

[study]
bars = 2
"""
RATE_HZ = 44_100


def lesson_in(folder: Path, text: str = TINY_LESSON, *, name: str = NAME, lesson_id: str = LESSON_ID) -> Path:
    """A lesson in a folder, known to its studio by an id that tests know too."""
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    studio = open_studio(folder)
    step = Step(number=1, text=text, words="made", good=True)
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    history.begin(studio.engine, lesson_id, name, step, sha256=sha256, at=datetime(2026, 9, 1), writing=False)
    studio.engine.dispose()
    return path


class StudioServer:
    """``phrasewright serve`` on a folder; ``with`` ends it."""

    def __init__(self, folder: Path, *arguments: str, patience_s: float = 20.0, log: IO[bytes] | None = None) -> None:
        self.folder = folder
        self.port = _free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        command = [sys.executable, "-m", "phrasewright", "serve", str(folder), "--port", str(self.port), *arguments]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=log)
        self.client = httpx2.Client(base_url=self.url, timeout=30.0, headers=page_headers())
        ends = time.monotonic() + patience_s
        while not self._answers():
            if time.monotonic() > ends or self.process.poll() is not None:
                self.stop()
                raise AssertionError("the studio did not start")
            time.sleep(0.02)

    def _answers(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=1.0).close()
        except OSError:
            return False
        return True

    def workers(self) -> list[int]:
        """The working processes that it has started."""
        return [pid for pid in _processes() if _parent(pid) == self.process.pid]

    def kill(self) -> list[int]:
        """kill -9; returns what was at work for it."""
        working = self.workers()
        self.process.kill()
        self.process.wait()
        self.client.close()
        return working

    def stop(self) -> None:
        """End it as Ctrl-C does."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(15)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        self.client.close()

    def __enter__(self) -> StudioServer:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def ended(self, job_id: str, *, patience_s: float = 60.0) -> dict[str, Any]:
        """A job when it has ended."""
        ends = time.monotonic() + patience_s
        while time.monotonic() < ends:
            told: dict[str, Any] = self.client.get(f"/api/jobs/{job_id}").json()
            if told["state"] not in ("queued", "running"):
                return told
            time.sleep(0.05)
        raise AssertionError(f"job {job_id} has not ended")


def _free_port() -> int:
    """A port that the system gives to nobody by itself, so that it is still free when the studio has started."""
    chance = Random()
    while True:
        port = chance.randrange(20_000, 32_000)
        with socket.socket() as found, suppress(OSError):
            found.bind(("127.0.0.1", port))
            return port


def all_gone(pids: list[int], *, patience_s: float = 30.0) -> bool:
    """Whether processes end by themselves within some time."""
    ends = time.monotonic() + patience_s
    while any(map(_is_alive, pids)):
        if time.monotonic() > ends:
            return False
        time.sleep(0.02)
    return True


def noise(seed: int, seconds: float = 1.0, *, channels: int = 1) -> bytes:
    """A WAV file of faint noise: what is in it depends on the seed alone."""
    frames = round(seconds * RATE_HZ) * channels
    samples = bytearray(Random(seed).randbytes(2 * frames))
    samples[1::2] = bytes(frames)  # the high byte: below 256 of 32768
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setnchannels(channels)
        writer.setsampwidth(2)
        writer.setframerate(RATE_HZ)
        writer.writeframes(bytes(samples))
    return file.getvalue()


def _processes() -> list[int]:
    return [int(path.name) for path in Path("/proc").iterdir() if path.name.isdecimal()]


def _stat(pid: int) -> list[str]:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return []


def _parent(pid: int) -> int | None:
    found = _stat(pid)
    return int(found[1]) if found else None


def _is_alive(pid: int) -> bool:
    found = _stat(pid)
    return bool(found) and found[0] not in ("Z", "X") and os.path.exists(f"/proc/{pid}")  # noqa: PTH110

"""A class in the studio: pages of thirty students while takes are sent and listened to and a pack is built.

usage: python benchmarks/bench_studio.py [--students 30] [--seconds 20] [--goal-ms 200] [--pack FOLDER]

Starts the studio, shared, as a process of its own on a folder with the demonstration lesson and its pack. Each student
has signed in, opens the lesson's room, all that its page loads (six connections, as a browser) and the list of takes,
thinks some seconds, and does it again; two visits of three come back with what the browser has kept. First without
other work, then while five takes of half a minute are sent at once and listened to and another lesson's pack is built.
Times are from the first request of a page to the last byte of its last file, on the cores that serve it.
--pack: a pack of the
demonstration lesson that is built already. Prints a table and ends
with status 1 when 95 of 100 pages are not within the goal.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib import resources
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "web"))

from studio_clients import CHEAP, PASSWORD, TOKEN
from studio_server import StudioServer, lesson_in

from phrasewright.app.lesson_files import PACKS
from phrasewright.course.password import set_password
from phrasewright.course.people import make_student
from phrasewright.course.sessions import open_session
from phrasewright.course.tokens import token_of
from phrasewright.web.guard import cookies
from phrasewright.web.studio import open_studio

LESSON, OTHER = "three", "other"
LESSON_ID, OTHER_ID = "3" * 12, "4" * 12
THINK_S = (2.0, 6.0)
CONNECTIONS = 6
TAKES = 5
KEPT_SHARE = 2 / 3
KINDS = ("whole page", "room page", "one file of it", "list of takes")


@dataclass
class Seen:
    """Times in s, by kind."""

    times_s: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    requests: int = 0

    def print(self, title: str, seconds: float) -> None:
        print(f"\n{title}: {self.requests / seconds:.0f} requests a second")
        print("| what | times | p50 | p95 | p99 | longest |\n| --- | --- | --- | --- | --- | --- |")
        for kind in KINDS:
            found = sorted(self.times_s[kind])
            marks = [found[min(len(found) - 1, int(share * len(found)))] for share in (0.5, 0.95, 0.99, 1.0)]
            print(f"| {kind} | {len(found)} | " + " | ".join(f"{1000 * mark:.0f} ms" for mark in marks) + " |")

    def p95_ms(self) -> float:
        found = sorted(self.times_s["whole page"])
        return 1000 * found[int(0.95 * len(found))]


class Connection:
    """One kept connection of a browser; as little as HTTP/1.1 needs, so that the measuring costs little."""

    def __init__(self, port: int, cookie: str) -> None:
        self._port = port
        self._cookie = f"Cookie: {cookie}\r\n"
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def get(self, path: str, etag: str | None = None) -> tuple[int, str | None]:
        """Status and tag of an answer, read to its end."""
        if self._streams is None:
            self._streams = await asyncio.open_connection("127.0.0.1", self._port, limit=1 << 20)
        reader, writer = self._streams
        known = f"If-None-Match: {etag}\r\n" if etag else ""
        writer.write(
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n{self._cookie}Accept-Encoding: gzip\r\n{known}\r\n".encode()
        )
        head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        first, *lines = head.split("\r\n")
        headers = {name.lower(): value for name, _, value in (line.partition(": ") for line in lines)}
        status, length = int(first.split()[1]), int(headers.get("content-length", "0"))
        if length and status != 304:
            await reader.readexactly(length)
        return status, headers.get("etag")

    def close(self) -> None:
        if self._streams is not None:
            self._streams[1].close()


class Student:
    """Opens the room again and again."""

    def __init__(self, port: int, files: list[str], seen: Seen, seed: int, cookie: str) -> None:
        self._port, self._files, self._seen, self._chance = port, files, seen, Random(seed)
        self._cookie = cookie
        self._kept: dict[str, str | None] = {}

    async def practise(self, until_s: float) -> None:
        await asyncio.sleep(self._chance.uniform(0.0, THINK_S[1]))
        while time.monotonic() < until_s:
            await self._open()
            await asyncio.sleep(self._chance.uniform(*THINK_S))

    async def _open(self) -> None:
        if self._chance.random() > KEPT_SHARE:
            self._kept.clear()
        connections = [Connection(self._port, self._cookie) for _ in range(CONNECTIONS)]
        lesson_id = LESSON_ID
        waiting = [("one file of it", f"/room/{lesson_id}/{name}") for name in self._files]
        waiting.append(("list of takes", f"/api/lessons/{lesson_id}/takes"))

        async def load(connection: Connection) -> None:
            while waiting:
                await self._get(connection, *waiting.pop())

        started = time.perf_counter()
        await self._get(connections[0], "room page", f"/room/{lesson_id}/")
        await asyncio.gather(*map(load, connections))
        self._seen.times_s["whole page"].append(time.perf_counter() - started)
        for connection in connections:
            connection.close()

    async def _get(self, connection: Connection, kind: str, path: str) -> None:
        started = time.perf_counter()
        status, etag = await connection.get(path, self._kept.get(path))
        if status not in (200, 304):
            raise AssertionError(f"{path}: {status}")
        self._kept[path] = etag
        self._seen.times_s[kind].append(time.perf_counter() - started)
        self._seen.requests += 1


def main() -> None:
    parser = argparse.ArgumentParser(description="A class in the studio.")
    parser.add_argument("--students", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--goal-ms", type=float, default=200.0)
    parser.add_argument("--pack", type=Path)
    wish = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        take = _prepare(folder, wish.pack)
        people = [_session(folder, f"Student {number + 1}") for number in range(wish.students)]
        with StudioServer(folder, "--share", "--address", "127.0.0.1") as server:
            server.client.headers.update(_session(folder, None))
            files = [
                one["path"]
                for one in server.client.get(f"/api/lessons/{LESSON_ID}/pack").json()["files"]
                if one["role"] == "page" and one["path"] != "index.html"
            ]
            print(f"{wish.students} students, {len(files)} files a page, thinking {THINK_S[0]:g} to {THINK_S[1]:g} s")
            print(f"memory of the studio at its start: {_memory_mb(server.process.pid, 'VmRSS'):.0f} MB")
            asyncio.run(_class(server, files, Seen(), people, 3.0, _nothing))  # everything once
            quiet, busy = Seen(), Seen()
            seconds = asyncio.run(_class(server, files, quiet, people, wish.seconds, _nothing))
            quiet.print("without other work", seconds)
            work = _Work(server, take, people)
            seconds = asyncio.run(_class(server, files, busy, people, wish.seconds, work.done))
            busy.print("while takes are listened to and a pack is built", seconds)
            work.print()
            peak_mb = _memory_mb(server.process.pid, "VmHWM")
            print(f"memory of the studio: at most {peak_mb:.0f} MB")
    met = busy.p95_ms() < wish.goal_ms
    print(f"95 of 100 pages within {busy.p95_ms():.0f} ms: goal {wish.goal_ms:.0f} ms {'met' if met else 'not met'}")
    sys.exit(0 if met else 1)


def _session(folder: Path, name: str | None) -> dict[str, str]:
    """What the browser of a new student sends, or the teacher's when no name is given."""
    studio, now = open_studio(folder), datetime.now(UTC)
    student_id = None if name is None else make_student(studio.engine, name, now=now).id
    secret = open_session(studio.engine, student_id=student_id, now=now)
    studio.engine.dispose()
    return {"Cookie": f"{cookies.SESSION}={secret}", TOKEN: token_of(secret)}


def _prepare(folder: Path, pack: Path | None) -> Path:
    """The lessons, the first one's pack, and a take; heavy imports stay in processes of their own."""
    text = resources.files("phrasewright.lesson").joinpath("demo.toml").read_text(encoding="utf-8")
    lesson_in(folder, text, name=LESSON, lesson_id=LESSON_ID)
    lesson_in(folder, text.replace("seed = 7", "seed = 8"), name=OTHER, lesson_id=OTHER_ID)
    studio = open_studio(folder)
    set_password(studio.engine, PASSWORD, hasher=CHEAP, now=datetime.now(UTC))
    studio.engine.dispose()
    if pack is not None:
        shutil.copytree(pack, folder / PACKS / LESSON)
    else:
        build = [sys.executable, "-m", "phrasewright", "build", str(folder / f"{LESSON}.toml")]
        subprocess.run([*build, "--out", str(folder / PACKS / LESSON)], check=True)
    play = [sys.executable, "-c", _PLAY, str(folder / f"{LESSON}.toml")]
    take = folder / "take.wav"
    take.write_bytes(subprocess.run(play, check=True, capture_output=True).stdout)
    return take


_SEND = """
import http.client, json, sys, time
content = open(sys.argv[3], "rb").read()
started = time.perf_counter()
connection = http.client.HTTPConnection("127.0.0.1", int(sys.argv[1]))
connection.request("POST", sys.argv[2], content, json.loads(sys.argv[4]))
told = json.loads(connection.getresponse().read())
print(json.dumps({"job": told["job"], "seconds": time.perf_counter() - started}))
"""
_PLAY = """
import io, sys
from pathlib import Path
import soundfile
from phrasewright.app.assignment import assignment_of
from phrasewright.app.planted_take import planted_take
from phrasewright.sound.events import SAMPLE_RATE
take = planted_take(assignment_of(Path(sys.argv[1]), exercise="study-1").plan, 75)
file = io.BytesIO()
soundfile.write(file, take.audio, SAMPLE_RATE, format="WAV", subtype="PCM_16")
sys.stdout.buffer.write(file.getvalue())
"""


async def _class(
    server: StudioServer,
    files: list[str],
    seen: Seen,
    people: list[dict[str, str]],
    seconds: float,
    work: Callable[[], Awaitable[None]],
) -> float:
    """Let a class practise for so long, and as long as the work lasts; the time it took in s."""
    started = time.monotonic()
    working = asyncio.create_task(_awaited(work))
    while True:
        until_s = time.monotonic() + seconds
        await asyncio.gather(
            *(
                Student(server.port, files, seen, seed, one["Cookie"]).practise(until_s)
                for seed, one in enumerate(people)
            ),
        )
        if working.done():
            await working
            return time.monotonic() - started


async def _awaited(work: Callable[[], Awaitable[None]]) -> None:
    await work()


async def _nothing() -> None:
    """No other work."""


class _Work:
    """Five takes at once, listened to, while a pack is built."""

    def __init__(self, server: StudioServer, take: Path, people: list[dict[str, str]]) -> None:
        self._server, self._take, self._people = server, take, people
        self._sent_s: list[float] = []
        self._peak_mb: dict[str, float] = {}
        self._lasted_s: dict[str, float] = {}

    async def done(self) -> None:
        watching = asyncio.create_task(self._watch())
        build = asyncio.create_task(self._build())
        jobs = await asyncio.gather(*(self._send(one) for one in self._people[:TAKES]))
        started = time.perf_counter()
        for job in jobs:
            await self._ended(job)
        self._lasted_s["listening to five takes"] = time.perf_counter() - started
        await build
        watching.cancel()

    def print(self) -> None:
        sent = ", ".join(f"{seconds:.1f}" for seconds in sorted(self._sent_s))
        print(f"\n{TAKES} takes of {self._take.stat().st_size / 1e6:.1f} MB sent at once, acknowledged after s: {sent}")
        for what, seconds in self._lasted_s.items():
            print(f"{what} lasted {seconds:.0f} s")
        for what, peak_mb in self._peak_mb.items():
            print(f"memory of a process: {what}: at most {peak_mb:.0f} MB")

    async def _send(self, headers: dict[str, str]) -> str:
        """Send a take from a process of its own, which does not slow the measuring down; the job that listens to it."""
        path = f"/api/lessons/{LESSON_ID}/takes?piece=study-1&tempo_bpm=75"
        arguments = (
            *(sys.executable, "-S", "-c", _SEND, str(self._server.port), path, str(self._take)),
            json.dumps(headers | {"Content-Type": "audio/wav"}),
        )
        sending = await asyncio.create_subprocess_exec(*arguments, stdout=subprocess.PIPE)
        answer, _ = await sending.communicate()
        told = json.loads(answer)
        self._sent_s.append(told["seconds"])
        return str(told["job"])

    async def _build(self) -> None:
        started = time.perf_counter()
        path = f"/api/lessons/{OTHER_ID}/pack"
        answer = await asyncio.to_thread(self._server.client.post, path)
        await self._ended(answer.json()["job"])
        self._lasted_s["building a pack"] = time.perf_counter() - started

    async def _ended(self, job: str) -> None:
        while True:
            answer = await asyncio.to_thread(self._server.client.get, f"/api/jobs/{job}")
            told = answer.json()
            if told["state"] not in ("queued", "running"):
                if told["state"] != "done":
                    raise AssertionError(told)
                return
            await asyncio.sleep(0.5)

    async def _watch(self) -> None:
        while True:
            for pid in self._server.workers():
                peak_mb = _memory_mb(pid, "VmHWM")
                kind = _kind(pid)
                if kind is not None:
                    self._peak_mb[kind] = max(peak_mb, self._peak_mb.get(kind, 0.0))
            await asyncio.sleep(0.5)


def _kind(pid: int) -> str | None:
    """What a working process does; None when it has ended."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_text().split("\0")[-2]
    except (OSError, IndexError):
        return None


def _memory_mb(pid: int, what: str) -> float:
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith(what)), 0.0)


if __name__ == "__main__":
    main()

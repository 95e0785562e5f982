"""A studio killed without warning, again and again, and what must be true each time it is started anew.

Each ``Activity`` does something to the studio until it is killed, and afterwards checks what it left. Another one, for
example saving a lesson, joins by being named in ``ACTIVITIES``.
"""

from __future__ import annotations

import hashlib
import threading
import time
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from random import Random
from typing import Protocol

import httpx2
from studio_clients import page_headers
from studio_server import LESSON_ID, NAME, TINY_LESSON, StudioServer, all_gone, lesson_in, noise

from phrasewright.app.manifest import MANIFEST_NAME, read_manifest
from phrasewright.app.pack import files_are_intact
from phrasewright.app.source import read_source

PIECES, PAUSE_S = 12, 0.03  # of one upload: it takes about a third of a second
KEPT_ID = "5" * 12  # the lesson that is changed
UPLOADS = f"/api/lessons/{LESSON_ID}/takes"


class Activity(Protocol):
    """Something done to a studio that is killed meanwhile."""

    name: str

    def begin(self, server: StudioServer, chance: Random) -> None:
        """Do it, until the studio is gone; called in a thread."""

    def moment(self, folder: Path, chance: Random) -> None:
        """Wait for the moment to kill the studio at."""

    def check(self, server: StudioServer, counts: Counter[str]) -> None:
        """After a new start: assert what must be true, count what was seen."""


@dataclass
class Uploading:
    """Three students send takes; an upload that broke off is sent again with its key."""

    name: str = "upload"
    number: int = 0
    acknowledged: dict[str, str] = field(default_factory=dict)  # id -> digest
    broken: list[tuple[str, bytes]] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self, server: StudioServer, chance: Random) -> None:
        _together([partial(self._send, server.url)] * 3)

    def moment(self, folder: Path, chance: Random) -> None:
        time.sleep(chance.uniform(0.05, 2.2))

    def check(self, server: StudioServer, counts: Counter[str]) -> None:
        again = list(self.broken)
        self.broken.clear()
        counts["uploads broken off"] += len(again)
        _together([partial(self._post, server.url, key, content, iter([content])) for key, content in again])
        assert not self.broken, "a second try of an upload failed"
        takes = {take["id"]: take for take in server.client.get(UPLOADS).json()}
        missing = self.acknowledged.keys() - takes.keys()
        assert not missing, f"acknowledged takes are lost: {missing}"
        assert takes.keys() == self.acknowledged.keys(), "a take was kept twice, or one nobody sent"
        for take_id in takes:
            sound = server.client.get(f"/api/takes/{take_id}/sound").content
            assert hashlib.sha256(sound).hexdigest() == self.acknowledged[take_id], f"take {take_id} is not whole"
        folder = server.folder / ".studio" / "takes"
        assert {path.stem for path in folder.glob("*.wav")} == takes.keys()
        assert not list(folder.glob(".*.part")), "half an upload was left"
        counts["takes acknowledged"] = len(takes)
        for take in list(takes.values())[1:]:  # the newest is listened to, the others would take too long
            if take["job"] is not None:
                server.client.delete(f"/api/jobs/{take['job']}")

    def _send(self, url: str) -> None:
        while True:
            with self.lock:
                self.number += 1
                number = self.number
            content = noise(number, 0.8)
            step = len(content) // PIECES + 1
            if not self._post(url, f"take-{number}", content, _slowly(content, step)):
                return

    def _post(self, url: str, key: str, content: bytes, body: Iterator[bytes]) -> bool:
        headers = page_headers() | {"content-type": "audio/wav", "idempotency-key": key}
        try:
            answer = httpx2.post(f"{url}{UPLOADS}?alone=true", content=body, headers=headers, timeout=30.0)
        except httpx2.HTTPError:
            self.broken.append((key, content))
            return False
        assert answer.status_code == 202, answer.text
        with self.lock:
            self.acknowledged[answer.json()["id"]] = hashlib.sha256(content).hexdigest()
        return True


def _together(doings: list[Callable[[], object]]) -> None:
    """Do things side by side; what one of them raises is raised here."""
    with ThreadPoolExecutor(max(1, len(doings))) as pool:
        for done in [pool.submit(doing) for doing in doings]:
            done.result()


def _slowly(content: bytes, step: int) -> Iterator[bytes]:
    for at in range(0, len(content), step):
        yield content[at : at + step]
        time.sleep(PAUSE_S)


@dataclass
class Building:
    """The lesson is changed and its pack built; killed at any moment, or in the middle of moving the files in."""

    name: str = "build"
    version: int = 0
    known: set[str] = field(default_factory=set)  # digests of all lessons there were

    def begin(self, server: StudioServer, chance: Random) -> None:
        self.version += 1
        lesson = server.folder / f"{NAME}.toml"
        lesson.write_text(TINY_LESSON.replace("Version 0", f"Version {self.version}"), encoding="utf-8")
        self.known.add(read_source(lesson).sha256)
        address = f"{server.url}/api/lessons/{LESSON_ID}/pack"
        httpx2.post(address, headers=page_headers(), timeout=30.0).raise_for_status()

    def moment(self, folder: Path, chance: Random) -> None:
        if chance.random() < 0.3:
            time.sleep(chance.uniform(0.1, 3.0))
            return
        ends = time.monotonic() + 20.0
        while time.monotonic() < ends and not _decided(folder):
            time.sleep(0.0005)
        time.sleep(chance.uniform(0.0, 0.012))

    def check(self, server: StudioServer, counts: Counter[str]) -> None:
        pack = server.folder / "packs" / NAME
        manifest = read_manifest(pack)
        if manifest is None:
            found = [path for path in pack.rglob("*") if path.is_file() and not _is_scratch(path, pack)]
            assert not found, f"files without a manifest: {found[:3]}"
            counts["no pack yet"] += 1
            return
        assert manifest.lesson_sha256 in self.known
        assert files_are_intact(pack, manifest.files), "the pack is mixed"
        is_newest = manifest.lesson_sha256 == self._newest(server.folder)
        counts["pack of the newest lesson" if is_newest else "pack of an earlier lesson"] += 1

    def _newest(self, folder: Path) -> str:
        return read_source(folder / f"{NAME}.toml").sha256


@dataclass
class Saving:
    """The teacher changes a lesson and gives it other titles, one request after the other."""

    name: str = "save"
    sent: int = 0
    acknowledged: int = 0

    def begin(self, server: StudioServer, chance: Random) -> None:
        address, headers = f"{server.url}/api/lessons/{KEPT_ID}", page_headers()
        while True:
            revision = httpx2.get(address, headers=headers, timeout=30.0).json()["revision"]
            self.sent += 1
            change = {"path": ["lesson", "seed"], "value": self.sent}
            body = {"revision": revision, "words": "seed", "changes": [change]}
            httpx2.post(f"{address}/changes", json=body, headers=headers, timeout=30.0).raise_for_status()
            self.acknowledged = self.sent
            if self.sent % 3 == 0:
                title = {"title": f"Kept {self.sent}"}
                httpx2.patch(address, json=title, headers=headers, timeout=30.0).raise_for_status()

    def moment(self, folder: Path, chance: Random) -> None:
        time.sleep(chance.uniform(0.05, 1.5))

    def check(self, server: StudioServer, counts: Counter[str]) -> None:
        listed = server.client.get("/api/lessons").json()["lessons"]
        assert sorted(one["id"] for one in listed) == sorted([LESSON_ID, KEPT_ID]), "a lesson is lost, or there twice"
        view = server.client.get(f"/api/lessons/{KEPT_ID}").json()
        assert self.acknowledged <= view["values"]["lesson"]["seed"] <= self.sent, "an acknowledged change is lost"
        self.acknowledged = view["values"]["lesson"]["seed"]
        files = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in server.folder.glob("*.toml")}
        assert files.keys() == {NAME, view["name"]}, "a file without its lesson"
        assert files[view["name"]]["lesson"]["seed"] == self.acknowledged, "the file is behind"
        assert files[view["name"]]["lesson"]["title"] == view["title"]
        assert not list(server.folder.glob(".*.part")), "half a file was left"
        counts["changes acknowledged"] = self.acknowledged


def _decided(folder: Path) -> bool:
    return any((folder / "packs" / NAME).glob(f".making-*/{MANIFEST_NAME}"))


def _is_scratch(path: Path, pack: Path) -> bool:
    return path.relative_to(pack).parts[0].startswith(".making-")


ACTIVITIES: tuple[type[Uploading] | type[Building] | type[Saving], ...] = (Uploading, Building, Saving)


def kill_rounds(folder: Path, turns: Sequence[str], *, seed: int) -> dict[str, Counter[str]]:
    """Kill a studio once in each turn, named by its activity; what was seen, by activity. Raises AssertionError."""
    chance = Random(seed)
    lesson_in(folder)
    kept = TINY_LESSON.replace('"Tiny"', '"Kept"').replace("seed = 7", "seed = 0")
    lesson_in(folder, kept, name="kept", lesson_id=KEPT_ID)
    activities: dict[str, Activity] = {activity.name: activity for activity in (kind() for kind in ACTIVITIES)}
    seen: dict[str, Counter[str]] = {name: Counter() for name in activities}
    with ThreadPoolExecutor(1) as doing:
        server = StudioServer(folder)
        try:
            for turn in turns:
                begun = doing.submit(_until_gone, activities[turn], server, chance)
                activities[turn].moment(folder, chance)
                counts = seen[turn]
                counts["kills"] += 1
                counts["killed while files were moved in"] += _decided(folder)
                assert all_gone(server.kill()), "a working process goes on for nobody"
                begun.result()
                server = StudioServer(folder)
                activities[turn].check(server, counts)
            _check_at_rest(server)
        finally:
            server.stop()
    return seen


def _until_gone(activity: Activity, server: StudioServer, chance: Random) -> None:
    with suppress(httpx2.HTTPError):
        activity.begin(server, chance)


def _check_at_rest(server: StudioServer) -> None:
    """A pack can be built at the end, and nothing half-made is left anywhere."""
    job = server.client.post(f"/api/lessons/{LESSON_ID}/pack").json()["job"]
    told = server.ended(job, patience_s=120.0)
    assert told["state"] == "done", told
    assert server.client.get(f"/api/lessons/{LESSON_ID}/pack").json()["current"]
    pack = server.folder / "packs" / NAME
    assert not list(pack.glob(".making-*"))
    manifest = read_manifest(pack)
    assert manifest is not None
    there = {path.relative_to(pack).as_posix() for path in pack.rglob("*") if path.is_file()}
    assert there == {entry.path for entry in manifest.files} | {MANIFEST_NAME}

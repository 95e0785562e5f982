"""Every hostile request gets a plain refusal, changes nothing, and is never the studio's failure."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass

import httpx2
import pytest
from hostile import TABLE, Hostile
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect
from studio_clients import TOKEN, local_teacher, shared_class

from phrasewright.course.people import invite
from phrasewright.web.answers import Refusal
from phrasewright.web.guard.headers import SAFE_HEADERS
from phrasewright.web.guard.rates import Rate, Rates

UNHURRIED = Rates(
    **{name: Rate(burst=10_000, per_s=1000) for name in ("sign_in", "come", "upload", "session", "address")}
)
SCRIPT = "<script>alert(1)</script>\"'><img src=x>"


@dataclass
class Target:
    """A studio with one student and a link, and the browser that requests come from."""

    client: TestClient
    student: str
    lesson: str


@pytest.fixture(scope="module")
def local(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Target]:
    with local_teacher(tmp_path_factory.mktemp("local"), rates=UNHURRIED) as client:
        yield Target(client, client.post("/api/students", json={"name": "Maya"}).json()["id"], a_lesson(client))


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Target:
    school = shared_class(tmp_path_factory.mktemp("shared"), rates=UNHURRIED)
    maya = school.new_student()
    invite(school.studio.engine, maya.id, now=school.clock.now())
    return Target(school.teacher(), maya.id, a_lesson(school.teacher()))


def a_lesson(client: TestClient) -> str:
    """The id of a lesson that is there."""
    return str(client.post("/api/lessons", json={"title": "First"}).json()["id"])


@pytest.mark.parametrize("place", ["local", "shared"])
@pytest.mark.parametrize("hostile", TABLE, ids=lambda row: ascii(row.name[:60]))
def test_hostile_requests_are_refused(
    hostile: Hostile, place: str, request: pytest.FixtureRequest, caplog: pytest.LogCaptureFixture
) -> None:
    """A plain 4xx in the shape that suits the path, with every safe header; the students are as they were."""
    target: Target = request.getfixturevalue(place)
    before = target.client.get("/api/students").json()
    with caplog.at_level(logging.ERROR):
        answer = _send(target, hostile)
    assert answer.status_code in hostile.statuses, answer.text[:500]
    assert not caplog.records
    _check_plain(answer, hostile.path)
    assert target.client.get("/api/students").json() == before


def test_scripts_in_names_are_words(local: Target) -> None:
    """A name may hold anything printable; every page and the API show it as words."""
    client = local.client
    made = client.post("/api/students", json={"name": SCRIPT}).json()
    assert made["name"] == SCRIPT
    client.post(f"/students/{made['id']}/name", data={"name": SCRIPT + "2"})
    listed = client.get("/students").text
    refused = client.post("/students", data={"name": SCRIPT + "2"}).text
    removed = client.get(client.post(f"/students/{made['id']}/remove").headers["location"]).text
    for text in (listed, refused, removed):
        assert "&lt;script&gt;alert(1)" in text
        assert "<script>" not in text
        assert "<img" not in text
        assert "'><" not in text


def test_a_socket_is_refused(local: Target) -> None:
    """The studio speaks no WebSocket; nobody gets one by asking."""
    with pytest.raises(WebSocketDisconnect) as closed, local.client.websocket_connect("/students"):
        pass
    assert closed.value.code == 1008


def _send(target: Target, hostile: Hostile) -> httpx2.Response:
    client = target.client
    url = str(client.base_url).rstrip("/") + hostile.path.replace("{student}", target.student).replace(
        "{lesson}", target.lesson
    )
    headers = [(name.encode(), value.encode("latin-1")) for name, value in hostile.headers.items()]
    body = hostile.body if isinstance(hostile.body, bytes) else hostile.body()
    kept = client.headers.pop(TOKEN)
    try:
        if hostile.has_token:
            headers.append((TOKEN.encode(), kept.encode()))
        return client.request(hostile.method, url, headers=headers, content=body)
    finally:
        client.headers[TOKEN] = kept


def _check_plain(answer: httpx2.Response, path: str) -> None:
    for name, value in SAFE_HEADERS.items():
        assert answer.headers[name] == value
    assert "set-cookie" not in answer.headers or "a=b" not in answer.headers["set-cookie"]
    assert "Traceback" not in answer.text
    if answer.request.url.path.startswith("/api/"):
        refusal = Refusal.model_validate_json(answer.content)
        assert refusal.message.endswith(".")
    elif answer.content:
        assert answer.headers["content-type"] == "text/html; charset=utf-8"
        assert "<h1>" in answer.text

"""Every operation of the studio's own API description, tried with made-up requests: none may fail.

Operations are found in the description, so a new route is tried without a word here. Requests are made with fitting
and with misfitting values, once for things that are not there and once for things that are (``KNOWN``).
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import httpx2
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from starlette.testclient import TestClient
from studio_clients import HOME, TOKEN, UNHURRIED, local_teacher

from phrasewright.web.answers import Refusal

EXAMPLES = 4  # of each operation, in each mode
METHODS = ("get", "post", "put", "patch", "delete")
NOT_SENT = ("cookies", "headers", "method", "url")


def a_student(client: TestClient) -> str:
    """The id of a student that is there."""
    known = client.get("/api/students").json()
    return str(known[0]["id"] if known else client.post("/api/students", json={"name": "Maya"}).json()["id"])


def a_lesson(client: TestClient) -> str:
    """The id of a lesson that is there."""
    known = client.get("/api/lessons").json()["lessons"]
    return str(known[0]["id"] if known else client.post("/api/lessons", json={"title": "Air"}).json()["id"])


KNOWN: Mapping[str, Callable[[TestClient], str]] = {"student_id": a_student, "lesson_id": a_lesson}
schemathesis.serializer.alias("audio/*", "application/octet-stream")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The local teacher's browser; what fails is told as an answer."""
    with local_teacher(tmp_path_factory.mktemp("fuzzed"), rates=UNHURRIED) as known:
        plain = TestClient(known.app, base_url=HOME, raise_server_exceptions=False, follow_redirects=False)
        plain.cookies, plain.headers[TOKEN] = known.cookies, known.headers[TOKEN]
        yield plain


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["fitting", "misfitting"])
def test_no_operation_fails(client: TestClient, mode: GenerationMode, caplog: pytest.LogCaptureFixture) -> None:
    """No answer is 500, nothing is logged as a failure, and every refusal is in plain words."""
    description = schemathesis.openapi.from_dict(client.app.openapi())  # type: ignore[attr-defined]
    tried = set()
    for found in description.get_all_operations():
        operation = found.ok()

        @seed(20260901)
        @settings(
            max_examples=EXAMPLES, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
        )
        @given(operation.as_strategy(generation_mode=mode))
        def try_it(case: schemathesis.Case) -> None:
            for known in ({}, {name: find(client) for name, find in KNOWN.items() if name in case.path_parameters}):
                case.path_parameters.update(known)
                _check(_send(client, case))

        try:
            try_it()
        except Unsatisfiable:
            assert mode is GenerationMode.NEGATIVE  # takes nothing that could misfit
            continue
        tried.add((operation.method.lower(), operation.path))
    assert not [record for record in caplog.records if record.levelno >= logging.ERROR]
    if mode is GenerationMode.POSITIVE:
        paths = client.get("/api/openapi.json").json()["paths"]
        assert tried == {(method, path) for path, ways in paths.items() for method in ways if method in METHODS}


def _send(client: TestClient, case: schemathesis.Case) -> httpx2.Response:
    asked: dict[str, Any] = case.as_transport_kwargs(base_url=HOME)
    headers = {name: str(value) for name, value in asked["headers"].items()}
    assume(all(value.isascii() and value.isprintable() for value in headers.values()))
    body = {name: value for name, value in asked.items() if name not in NOT_SENT}
    if "data" in body and not isinstance(body["data"], dict):
        body["content"] = body.pop("data")
    return client.request(asked["method"], asked["url"], headers=headers, **body)


def _check(answer: httpx2.Response) -> None:
    assert answer.status_code != 500, f"{answer.request.method} {answer.request.url} failed: {answer.text[:300]}"
    if answer.status_code >= 400 and answer.request.url.path.startswith("/api/"):
        assert Refusal.model_validate_json(answer.content).message

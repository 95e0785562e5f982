"""Bodies that break off or cannot be written down, in every way a route reads them."""

from __future__ import annotations

import asyncio
import logging
from pathlib import Path
from typing import Any

import pytest
from fastapi import APIRouter, Depends, FastAPI, Request
from studio_clients import local_teacher, page_headers

from phrasewright.web import application as studio_application
from phrasewright.web.application import create_application
from phrasewright.web.guard.who import teacher_only
from phrasewright.web.studio import open_studio

FORM = "application/x-www-form-urlencoded"


@pytest.fixture
def routes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two more routes: one reads its body piece by piece, one writes down what it gets."""
    router = APIRouter(dependencies=[Depends(teacher_only)])

    @router.post("/api/pieces")
    async def pieces(request: Request) -> int:
        return sum([len(piece) async for piece in request.stream()])

    @router.post("/api/words")
    def words(asked: dict[str, int]) -> int:
        return len("".join(asked).encode())

    monkeypatch.setattr(studio_application, "ROUTERS", (*studio_application.ROUTERS, router))


@pytest.mark.parametrize(
    ("path", "kind", "has_token"),
    [
        ("/api/students", "application/json", True),
        ("/students", FORM, True),
        ("/students", FORM, False),
        ("/api/pieces", "audio/wav", True),
    ],
)
def test_a_body_that_breaks_off(
    routes: None, tmp_path: Path, caplog: pytest.LogCaptureFixture, path: str, kind: str, has_token: bool
) -> None:
    """JSON, a form with its token in the head or in its fields, and a stream: 400, and no failure is logged."""
    application = create_application(open_studio(tmp_path))
    headers = page_headers() | {"Host": "127.0.0.1", "Content-Type": kind, "Content-Length": "1000"}
    if not has_token:
        headers.pop("X-Phrasewright-Token")
    with caplog.at_level(logging.ERROR):
        sent = asyncio.run(_post(application, path, headers, [b"name=", None]))
    assert sent[0]["status"] == 400
    assert not caplog.records


def test_half_a_character_cannot_be_written(routes: None, tmp_path: Path) -> None:
    """JSON can hold half of a pair where a whole one is no rule; what is then not written is refused in plain words."""
    with local_teacher(tmp_path) as client:
        client.headers["Content-Type"] = "application/json"
        answer = client.post("/api/words", content=b'{"\\ud83c": 1}')
        assert answer.status_code == 422
        assert "half a character" in answer.json()["message"]
        assert client.post("/api/words", content=b'{"\\ud83c\\udfb8": 1}').json() == 4


async def _post(
    application: FastAPI, path: str, headers: dict[str, str], pieces: list[bytes | None]
) -> list[dict[str, Any]]:
    """What an application sends when a body comes in pieces; None: the client leaves."""
    sent: list[dict[str, Any]] = []
    left = list(pieces)

    async def receive() -> dict[str, Any]:
        piece = left.pop(0) if left else None
        if piece is None:
            return {"type": "http.disconnect"}
        return {"type": "http.request", "body": piece, "more_body": True}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(name.lower().encode(), value.encode()) for name, value in headers.items()],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", 8642),
        "http_version": "1.1",
        "state": {},
    }
    await application(scope, receive, send)
    return sent

"""Hostile requests as a table: what is sent, and which plain refusals are right. Add a row for every new way in.

``{student}`` and ``{lesson}`` in a path stand for a student and a lesson that are there.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

JSON = {"Content-Type": "application/json"}
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
Body = bytes | Callable[[], Iterator[bytes]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hostile:
    """One request. body: bytes, or a maker of chunks (sent without a length). has_token: as a page of ours sends it."""

    name: str
    path: str
    statuses: tuple[int, ...]
    method: str = "GET"
    headers: Mapping[str, str] = field(default_factory=dict)
    body: Body = b""
    has_token: bool = True


def chunks(count: int, size: int = 100_000) -> Callable[[], Iterator[bytes]]:
    """A body of that many chunks, undeclared."""
    return lambda: (b'"' + b"x" * size for _ in range(count))


def zip_bomb(size_mb: int = 50) -> bytes:
    """A small archive that grows to some megabytes of nothing."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("take.wav", b"\0" * size_mb * 1_000_000)
    return buffer.getvalue()


XML_BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b"]><a>&j;</a>"
)
NOT_A_NAME = (400, 415, 422)
NESTED = b'{"name":' + b"[" * 100_000 + b"]" * 100_000 + b"}"

TRAVERSALS = [
    Hostile(name=f"traversal {written}", path=f"{place}{written}", statuses=(400, 404, 405))
    for place in ("/static/", "/come/", "/api/students/")
    for written in (
        "../../pyproject.toml",
        "..%2f..%2fpyproject.toml",
        "%2e%2e/%2e%2e/pyproject.toml",
        "%252e%252e%252fpyproject.toml",
        "..%5c..%5cpyproject.toml",
        "..%c0%af..%c0%afpyproject.toml",
        "%2fetc%2fpasswd",
        "C:%5cWindows%5cwin.ini",
        "sheet.css%00.png",
        "%0d%0aSet-Cookie:%20a=b",
        "a" * 5000,
    )
]
BODIES = [
    Hostile(
        name="huge, declared", path="/api/students", method="POST", headers=JSON, body=b"x" * 1_000_001, statuses=(413,)
    ),
    Hostile(name="huge, chunked", path="/api/students", method="POST", headers=JSON, body=chunks(11), statuses=(413,)),
    Hostile(
        name="huge form",
        path="/students",
        method="POST",
        headers=FORM,
        body=chunks(11),
        statuses=(413,),
        has_token=False,
    ),
    Hostile(name="truncated", path="/api/students", method="POST", headers=JSON, body=b'{"name": "Ma', statuses=(422,)),
    Hostile(name="empty", path="/api/students", method="POST", headers=JSON, statuses=(422,)),
    Hostile(
        name="not text", path="/api/students", method="POST", headers=JSON, body=b"\xff\xfe\x00", statuses=(400, 422)
    ),
    Hostile(name="nested", path="/api/students", method="POST", headers=JSON, body=NESTED, statuses=(400, 422)),
    Hostile(
        name="huge number", path="/api/students", method="POST", headers=JSON, body=b"9" * 9000, statuses=(400, 422)
    ),
    Hostile(name="NaN", path="/api/students", method="POST", headers=JSON, body=b'{"name": NaN}', statuses=(422,)),
    Hostile(name="zip bomb", path="/api/students", method="POST", body=zip_bomb(), statuses=NOT_A_NAME),
    Hostile(
        name="zip bomb as words",
        path="/api/students",
        method="POST",
        headers=JSON,
        body=zip_bomb(),
        statuses=NOT_A_NAME,
    ),
    Hostile(
        name="XML bomb",
        path="/api/students",
        method="POST",
        headers={"Content-Type": "text/xml"},
        body=XML_BOMB,
        statuses=NOT_A_NAME,
    ),
    Hostile(
        name="form with a thousand fields",
        path="/students",
        method="POST",
        headers=FORM,
        body=b"name=a&" * 1000,
        statuses=(422,),
    ),
    Hostile(
        name="JSON where a form belongs",
        path="/students",
        method="POST",
        headers=JSON,
        body=b'{"name":"a"}',
        statuses=(415,),
    ),
    *(
        Hostile(
            name=f"wrong type {body!r}", path="/api/students", method="POST", headers=JSON, body=body, statuses=(422,)
        )
        for body in (
            b"null",
            b"[]",
            b'"Maya"',
            b"12",
            b'{"name": 1}',
            b'{"name": null}',
            b'{"name": ["Maya"]}',
            b'{"name": {"$ne": ""}}',
            b'{"name": ""}',
            b'{"name": "\\u0000"}',
            b'{"name": "\\ud800"}',
            b'{"name": "Maya", "id": "000000000000"}',
            b'{"name": "Maya", "\\ud800": 1}',
            b'{"__proto__": {}}',
            b'{"name": "' + b"x" * 900_000 + b'"}',
        )
    ),
    *(
        Hostile(
            name=f"as {kind}",
            path="/api/students",
            method="POST",
            headers={"Content-Type": kind},
            body=b'{"name":"a"}',
            statuses=NOT_A_NAME,
        )
        for kind in (
            "text/plain",
            "application/x-www-form-urlencoded",
            "multipart/form-data; boundary=x",
            "image/png",
            "",
        )
    ),
]
SITES = [
    Hostile(
        name="no token",
        path="/api/students",
        method="POST",
        headers=JSON,
        body=b'{"name":"a"}',
        statuses=(403,),
        has_token=False,
    ),
    Hostile(
        name="no token in a form",
        path="/students",
        method="POST",
        headers=FORM,
        body=b"name=a",
        statuses=(403,),
        has_token=False,
    ),
    Hostile(
        name="empty token in a form",
        path="/students",
        method="POST",
        headers=FORM,
        body=b"name=a&token=",
        statuses=(403,),
        has_token=False,
    ),
    *(
        Hostile(
            name=f"token {token!r}",
            path="/api/students",
            method="POST",
            headers=JSON | {"X-Phrasewright-Token": token},
            body=b'{"name":"a"}',
            statuses=(403,),
            has_token=False,
        )
        for token in ("", "0" * 64, "wrong", "%", "x" * 10_000, "\xe9\xe8".encode().decode("latin-1"))
    ),
    *(
        Hostile(
            name=f"origin {origin}",
            path="/api/students",
            method="POST",
            headers=JSON | {"Origin": origin},
            body=b'{"name":"a"}',
            statuses=(403,),
        )
        for origin in (
            "null",
            "",
            "http://evil.example",
            "http://127.0.0.1",
            "http://127.0.0.1:8643",
            "https://127.0.0.1:8642",
            "http://127.0.0.1.evil.example:8642",
            "http://evil@127.0.0.1:8642/x",
            "http://127.0.0.1:99999",
            "file://",
            "http://[",
        )
    ),
    *(
        Hostile(
            name=f"fetched {site}",
            path="/api/students",
            method="POST",
            headers=JSON | {"Sec-Fetch-Site": site},
            body=b'{"name":"a"}',
            statuses=(403,),
        )
        for site in ("cross-site", "same-site", "elsewhere")
    ),
    Hostile(
        name="read by another site",
        path="/api/students",
        headers={"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "script"},
        statuses=(403,),
    ),
    Hostile(
        name="framed by another site",
        path="/students",
        headers={"Sec-Fetch-Site": "same-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"},
        statuses=(403,),
    ),
    *(
        Hostile(name=f"host {host}", path="/students", headers={"Host": host}, statuses=(421,))
        for host in (
            "evil.example",
            "127.0.0.1.evil.example",
            "evil.example:8642",
            "127.0.0.1:8642@evil.example",
            "",
            "127.0.0.1:x",
            "[::1",
            "a b",
            "127.0.0.1, evil.example",
            "\xe9",
        )
    ),
]
METHODS = [
    *(
        Hostile(name=f"{method} on a page", path="/students", method=method, statuses=(403, 404, 405))
        for method in ("DELETE", "PUT", "PATCH", "TRACE", "CONNECT", "BREW", "OPTIONS")
    ),
    Hostile(
        name="form that would be a DELETE",
        path="/api/students/{student}",
        method="POST",
        headers=FORM,
        body=b"_method=DELETE",
        statuses=(405,),
    ),
    *(
        Hostile(
            name=f"{header} of a POST",
            path="/api/students/{student}",
            method="POST",
            headers={header: "DELETE"},
            statuses=(405,),
        )
        for header in ("X-HTTP-Method-Override", "X-HTTP-Method", "X-Method-Override")
    ),
    Hostile(
        name="header flood",
        path="/students",
        headers={f"X-Flood-{number}": "1" for number in range(100)},
        statuses=(431,),
    ),
    *(
        Hostile(
            name=f"length {length}",
            path="/api/students",
            method="POST",
            headers=JSON | {"Content-Length": length},
            body=b"{}",
            statuses=(400, 413),
        )
        for length in ("-1", "1e3", "0x10", "9" * 40, "1_0", "\xb2")
    ),
]
IDS = [
    Hostile(name=f"id {written}", path=f"/api/students/{written}", method="DELETE", statuses=(404, 405))
    for written in (
        "000000000000",
        "00112233AABB",
        "0011",
        "'%20or%201=1--",
        "%00",
        "..",
        "0" * 13,
        "00112233aabb%0a",
        "%F0%9F%8E%B8",
    )
]
WAV = {"Content-Type": "audio/wav"}
TAKES = [
    Hostile(
        name=f"take: {name}",
        path="/api/lessons/{lesson}/takes",
        method="POST",
        headers=kind,
        body=body,
        statuses=statuses,
    )
    for name, kind, body, statuses in (
        ("zip bomb", WAV, zip_bomb(), (422,)),
        ("zip bomb of no kind", {}, zip_bomb(), (415,)),
        ("XML bomb", WAV, XML_BOMB, (422,)),
        ("XML bomb as a picture", {"Content-Type": "image/svg+xml"}, XML_BOMB, (415,)),
        ("nothing", WAV, b"", (422,)),
        ("head of a wave alone", WAV, b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0", (422,)),
        ("page", {"Content-Type": "text/html"}, b"<script>alert(1)</script>", (415,)),
        ("JSON", JSON, b"{}", (415,)),
        ("huge, declared", WAV | {"Content-Length": "60000001"}, b"RIFF", (413,)),
        ("huge, chunked", WAV, lambda: (b"RIFF" + bytes(999_996) for _ in range(61)), (413,)),
    )
]
LESSONS = [
    Hostile(
        name=f"lesson: {name}",
        path="/api/lessons/{lesson}/text",
        method="PUT",
        headers=JSON,
        body=body,
        statuses=statuses,
    )
    for name, body, statuses in (
        ("huge", json.dumps({"revision": 1, "text": "#" * 1_000_000}).encode(), (413,)),
        ("half a character", b'{"revision": 1, "text": "\\ud800"}', (422,)),
        ("revision to come", b'{"revision": 9007199254740993, "text": ""}', (422,)),
        ("zip bomb", zip_bomb(), NOT_A_NAME),
        ("XML bomb", XML_BOMB, NOT_A_NAME),
    )
]
PACKS = [
    Hostile(name=f"{place} {written}", path=f"/{place}/{{lesson}}/{written}", statuses=(404,))
    for place in ("pack", "room")
    for written in (
        "..%2f..%2ffirst.toml",
        "%2e%2e/%2e%2e/first.toml",
        "%252e%252e%252ffirst.toml",
        "..%5c..%5cfirst.toml",
        "%2fetc%2fpasswd",
        "C:%5cWindows%5cwin.ini",
        "manifest.json%00.png",
        "a" * 5000,
    )
]
TABLE = [*TRAVERSALS, *BODIES, *SITES, *METHODS, *IDS, *TAKES, *LESSONS, *PACKS]

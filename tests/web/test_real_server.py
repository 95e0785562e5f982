"""The studio on a real port: slow, huge, chunked, broken and malformed requests over plain sockets."""

from __future__ import annotations

import contextlib
import json
import logging
import shutil
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from served import running
from studio_clients import page_headers

from phrasewright.web.application import create_application
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.guard.sizes import MEGABYTE, Sizes
from phrasewright.web.serving import server_for
from phrasewright.web.studio import open_studio

PAGE = page_headers()
QUICK = Sizes(idle_s=0.4, grace_s=0.8, drained_s=1.0)
HEAD_S = 0.5


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    application = create_application(open_studio(tmp_path_factory.mktemp("served")), Sharing(sizes=QUICK))
    with running(server_for(application, host="127.0.0.1", port=0, head_s=HEAD_S)) as number:
        yield number


def head(method: str, path: str, *lines: str) -> bytes:
    """The head of a request as a page of ours sends it."""
    page = (f"{name}: {value}" for name, value in PAGE.items())
    own = (f"{method} {path} HTTP/1.1", "Host: 127.0.0.1", *page)
    return "\r\n".join((*own, "Content-Type: application/json", *lines, "", "")).encode("latin-1")


def talk(port: int, *pieces: bytes, pause_s: float = 0.0, limit_s: float = 10.0) -> bytes:
    """What comes back when pieces are sent with a pause before each but the first; until the server closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=limit_s) as connection:
        try:
            for number, piece in enumerate(pieces):
                if number:
                    time.sleep(pause_s)
                connection.sendall(piece)
        except (BrokenPipeError, ConnectionResetError):
            pass  # it has had enough
        return read_all(connection)


def read_all(connection: socket.socket) -> bytes:
    """Everything until the end of the connection."""
    received = b""
    while True:
        try:
            piece = connection.recv(65536)
        except ConnectionResetError:
            return received
        if not piece:
            return received
        received += piece


def status_of(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1])


def message_of(answer: bytes) -> str:
    return str(json.loads(answer.partition(b"\r\n\r\n")[2])["message"])


def still_answers(port: int) -> bool:
    return status_of(talk(port, head("GET", "/api/students", "Connection: close"))) == 200


def test_a_huge_declared_body_is_refused_before_it_is_sent(port: int) -> None:
    """A client that asks first is told at once, and sends nothing."""
    answer = talk(port, head("POST", "/api/students", "Content-Length: 5000000000", "Expect: 100-continue"))
    assert status_of(answer) == 413
    assert message_of(answer) == "This is too large: there is room for 1 MB."


@pytest.mark.parametrize("size", [3 * MEGABYTE, 7 * MEGABYTE])
def test_a_client_that_sends_a_large_body_reads_why_not(port: int, size: int) -> None:
    """The refusal waits a moment for what is under way, or the connection would break before it is read."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(head("POST", "/api/students", f"Content-Length: {size}"))
        for _ in range(size // 100_000):
            connection.sendall(b"x" * 100_000)
        assert status_of(connection.recv(65536)) == 413
        while connection.recv(65536):  # a connection that breaks would raise here
            pass


def test_an_endless_body_ends(port: int) -> None:
    """Chunks without a length are counted; after the refusal only a little more is taken."""
    chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
    sent = 0
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(head("POST", "/api/students", "Transfer-Encoding: chunked"))
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            while sent < 100 * MEGABYTE:
                connection.sendall(chunk)
                sent += 0x10000
    assert sent < 20 * MEGABYTE
    answer = talk(port, head("POST", "/api/students", "Transfer-Encoding: chunked"), *[chunk] * 20)
    assert status_of(answer) == 413
    assert still_answers(port)


def test_a_body_that_stops_is_given_up(port: int) -> None:
    """A pause that is too long ends the request, with words."""
    answer = talk(port, head("POST", "/api/students", "Content-Length: 100") + b'{"name":')
    assert status_of(answer) == 408
    assert message_of(answer) == "What was sent came too slowly and was given up."


def test_a_body_that_drips_is_given_up(port: int) -> None:
    """Each pause is short enough, all together are not."""
    began_s = time.monotonic()
    answer = talk(port, head("POST", "/api/students", "Content-Length: 100"), *[b" "] * 15, pause_s=0.1)
    assert status_of(answer) == 408
    assert time.monotonic() - began_s < 8


def test_a_head_that_never_ends_is_given_up(port: int) -> None:
    """Nothing sent, half a head, and half of a second head: the connection is closed without a word."""
    whole = head("GET", "/api/students")
    for pieces in ((b"",), (whole[:20],), (whole[:20], whole[20:30], whole[30:40], whole[40:50])):
        began_s = time.monotonic()
        assert talk(port, *pieces, pause_s=0.2) == b""
        assert time.monotonic() - began_s < HEAD_S + 3
    answer = talk(port, whole, whole[:20], pause_s=0.2)
    assert (status_of(answer), answer.count(b"HTTP/1.1")) == (200, 1)


def test_a_connection_is_used_again(port: int) -> None:
    """Requests one after the other, also with a head in two pieces, are all answered."""
    whole = head("GET", "/api/students")
    answer = talk(port, whole, whole[:20], whole[20:], head("GET", "/api/students", "Connection: close"), pause_s=0.1)
    assert answer.count(b"HTTP/1.1 200") == 3


@pytest.mark.parametrize("framing", ["Content-Length: 50", "Transfer-Encoding: chunked"])
def test_a_client_that_leaves_is_no_failure(port: int, framing: str, caplog: pytest.LogCaptureFixture) -> None:
    """A body that breaks off with its connection changes nothing and leaves no error in the log."""
    with caplog.at_level(logging.ERROR), socket.create_connection(("127.0.0.1", port)) as connection:
        connection.sendall(head("POST", "/api/students", framing) + b'9\r\n{"name":')
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")
    time.sleep(0.2)
    assert still_answers(port)
    assert not caplog.records


@pytest.mark.parametrize(
    ("request_", "status"),
    [
        (b"GARBAGE\r\n\r\n", 400),
        (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 400),
        (b"GET /students HTTP/1.1\r\n\r\n", 400),
        (b"GET /students HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: evil.example\r\n\r\n", 400),
        (b"GET /students HTTP/1.0\r\n\r\n", 421),
        (b"GET http://evil.example/students HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n", 421),
        (head("GET", "/students", "Connection: close", "X-Long: " + "x" * 40_000), 431),
        (head("GET", "/students", "Connection: close", *["X-Flood: 1"] * 100), 431),
        (head("POST", "/api/students", "Content-Length: 5", "Content-Length: 6") + b"hello", 400),
        (head("POST", "/api/students", "Content-Length: -5") + b"hello", 400),
        (head("POST", "/api/students", "Transfer-Encoding: gzip, chunked") + b"0\r\n\r\n", 400),
        (head("POST", "/api/students", "Transfer-Encoding: chunked", "Connection: close") + b"zz\r\n", 400),
        (head("GET", "/static/%2e%2e/%2e%2e/studio.py", "Connection: close"), 404),
        (head("GET", "/static/..%2f..%2fstudio.py", "Connection: close"), 404),
        (head("GET", "/static/../../studio.py", "Connection: close"), 404),
        (head("GET", "/static/%ff%fe%00", "Connection: close"), 404),
    ],
)
def test_malformed_requests(port: int, request_: bytes, status: int) -> None:
    """What is not HTTP, or two things at once, is refused by the first layer that sees it."""
    answer = talk(port, request_)
    assert status_of(answer) == status
    assert b"uvicorn" not in answer.lower()
    assert still_answers(port)


@pytest.mark.parametrize("is_behind_proxy", [True, False])
def test_a_proxy_is_believed_only_where_there_is_one(tmp_path: Path, is_behind_proxy: bool) -> None:
    """Told that a proxy stands in front, its word on https counts; otherwise anybody could say so."""
    application = create_application(open_studio(tmp_path), Sharing(is_shared=True))
    with running(server_for(application, host="127.0.0.1", port=0, is_behind_proxy=is_behind_proxy)) as number:
        asked = b"GET /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Forwarded-Proto: https\r\nConnection: close\r\n\r\n"
        answer = talk(number, asked)
    assert (b"secure" in _cookie_of(answer)) is is_behind_proxy


def _cookie_of(answer: bytes) -> bytes:
    return next(line for line in answer.lower().split(b"\r\n") if line.startswith(b"set-cookie"))


def test_https_without_a_proxy(tmp_path: Path) -> None:
    """With a certificate the studio itself speaks https, and its cookies are never sent in the open."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("openssl is not here to make a certificate")
    certificate, key = tmp_path / "certificate.pem", tmp_path / "key.pem"
    asked = [openssl, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]
    names = ["-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1", "-days", "2"]
    subprocess.run([*asked, *names, "-keyout", str(key), "-out", str(certificate)], check=True, capture_output=True)
    application = create_application(open_studio(tmp_path / "lessons"), Sharing(is_shared=True))
    server = server_for(application, host="127.0.0.1", port=0, certificate=certificate, key=key)
    with running(server) as number, socket.create_connection(("127.0.0.1", number), timeout=10) as plain:
        context = ssl.create_default_context(cafile=certificate)
        with context.wrap_socket(plain, server_hostname="127.0.0.1") as connection:
            connection.sendall(b"GET /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
            answer = read_all(connection)
    assert status_of(answer) == 200
    assert b"secure" in _cookie_of(answer)

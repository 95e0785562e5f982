"""``phrasewright serve``: for this computer, or shared with a password."""

from __future__ import annotations

import socket
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from phrasewright.cli.main import app
from phrasewright.course.password import check_password, has_password, strong_hasher
from phrasewright.course.sessions import open_session, session_of
from phrasewright.web import serving
from phrasewright.web.guard import sharing
from phrasewright.web.studio import open_studio

GOOD, OTHER = "crow lamp seven plum", "moth brick nine pear"


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What the server would have been started with."""
    started: list[dict[str, Any]] = []

    class Started:
        def run(self, sockets: list[socket.socket]) -> None:
            assert sockets
            started[-1]["ran"] = True
            raise KeyboardInterrupt  # as when it is ended from the keyboard

    def server_for(application: Any, **options: Any) -> Started:
        started.append({"sharing": application.state.sharing} | options)
        return Started()

    monkeypatch.setattr(serving, "server_for", server_for)
    monkeypatch.setattr(serving, "bound_to", lambda host, port: socket.create_server(("127.0.0.1", 0)))
    monkeypatch.setattr(sharing, "addresses", lambda: ("192.168.1.20", "10.0.0.5"))
    monkeypatch.setattr(sharing, "names", lambda: ("music-room", "music-room.local"))
    return started


def run(*words: str, typed: str = "") -> tuple[int, str]:
    done = CliRunner().invoke(app, ["serve", *words], input=typed)
    return done.exit_code, done.output + (str(done.exception) if done.exception else "")


def test_it_is_for_this_computer(tmp_path: Path, served: list[dict[str, Any]]) -> None:
    """Without a word about sharing it listens where nobody else can reach, and asks for no password."""
    code, words = run(str(tmp_path / "lessons"))
    assert (code, served[0]["host"], served[0]["port"], served[0]["ran"]) == (0, "127.0.0.1", 8642, True)
    assert "http://127.0.0.1:8642/" in words
    assert not served[0]["sharing"].is_shared
    assert served[0]["sharing"].hosts == {"127.0.0.1", "localhost", "[::1]"}


def test_a_port_that_is_taken_is_told_before_anything_else(tmp_path: Path) -> None:
    """Not that the studio is open, but what to do."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        code, words = run(str(tmp_path), "--port", str(port))
    assert code != 0
    assert f"Port {port} is taken by another program." in words
    assert "is open at" not in words


def test_answers_are_sent_at_once() -> None:
    """asyncio turns the waiting for larger packets off on sockets of this protocol alone."""
    with serving.bound_to("127.0.0.1", 0) as bound:
        assert bound.proto == socket.IPPROTO_TCP


def test_an_address_of_another_computer_is_told(tmp_path: Path) -> None:
    """203.0.113.0/24 is kept for documentation (RFC 5737): no computer has it."""
    code, words = run(str(tmp_path), "--share", "--address", "203.0.113.9", typed=f"{GOOD}\n{GOOD}\n")
    assert code != 0
    assert "at 203.0.113.9 cannot be had" in words


def test_sharing_asks_for_a_password_once(tmp_path: Path, served: list[dict[str, Any]]) -> None:
    """Twice the same, long enough; asked again otherwise. The next time nothing is asked."""
    folder = str(tmp_path / "lessons")
    code, words = run(folder, "--share", typed=f"short\nshort\n{GOOD}\n{OTHER}\n{GOOD}\n{GOOD}\n")
    assert code == 0, words
    assert "it needs 10" in words
    assert GOOD not in words
    assert "http://192.168.1.20:8642/\n    http://10.0.0.5:8642/" in words
    assert "plain http" in words
    assert (served[0]["host"], served[0]["is_behind_proxy"]) == ("0.0.0.0", False)
    assert {"music-room.local", "192.168.1.20", "localhost"} <= served[0]["sharing"].hosts
    assert check_password(open_studio(Path(folder)).engine, GOOD, hasher=strong_hasher())
    assert run(folder, "--share", "--address", "192.168.1.20")[0] == 0
    assert served[1]["host"] == "192.168.1.20"


def test_no_password_no_sharing(tmp_path: Path, served: list[dict[str, Any]]) -> None:
    """Who does not answer is not served."""
    code, _ = run(str(tmp_path), "--share", typed="")
    assert code != 0
    assert not served
    assert not has_password(open_studio(tmp_path).engine)


def test_a_new_password_is_set_and_ends_sessions(tmp_path: Path, served: list[dict[str, Any]]) -> None:
    """``--set-password`` asks, sets and leaves; who was signed in no longer is."""
    engine, now = open_studio(tmp_path).engine, datetime.now(UTC)
    assert run(str(tmp_path), "--set-password", typed=f"{GOOD}\n{GOOD}\n")[0] == 0
    secret = open_session(engine, student_id=None, now=now)
    code, words = run(str(tmp_path), "--set-password", typed=f"{OTHER}\n{OTHER}\n")
    assert (code, served) == (0, [])
    assert "everybody has to sign in again" in words
    assert session_of(engine, secret, now=now) is None
    assert check_password(engine, OTHER, hasher=strong_hasher())


def test_an_https_proxy_in_front(tmp_path: Path, served: list[dict[str, Any]]) -> None:
    """The public address is the one told and answered to; the proxy on this computer is believed."""
    words = run(str(tmp_path), "--share", "--public", "https://Lessons.example.org/", typed=f"{GOOD}\n{GOOD}\n")[1]
    assert "https://lessons.example.org/" in words
    assert "plain http" not in words
    assert served[0]["is_behind_proxy"]
    assert "lessons.example.org" in served[0]["sharing"].hosts


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--public", "https://a.example"), "belong to --share"),
        (("--address", "192.168.1.20"), "belong to --share"),
        (("--share", "--certificate", "c.pem"), "belong together"),
        (("--share", "--certificate", "c.pem", "--key", "k.pem"), "no file c.pem"),
        (("--share", "--public", "http://a.example"), "https proxy"),
        (("--share", "--public", "https://a.example/studio"), "https proxy"),
    ],
)
def test_options_that_do_not_go_together(
    tmp_path: Path, served: list[dict[str, Any]], words: tuple[str, ...], told: str
) -> None:
    """Refused with a sentence, before anything is served."""
    code, output = run(str(tmp_path), *words, typed=f"{GOOD}\n{GOOD}\n")
    assert code != 0
    assert told in output
    assert not served

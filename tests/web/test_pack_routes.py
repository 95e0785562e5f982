"""Packs and rooms over the network: only what the manifest names, whole, cached well, in parts where asked for."""

from __future__ import annotations

import gzip
import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from pack_by_hand import FILES, PAGE, write_manifest, write_pack
from starlette.testclient import TestClient
from studio_clients import HOME, as_local
from studio_server import LESSON_ID, NAME, lesson_in

from phrasewright.web import pack_shelf
from phrasewright.web.application import create_application
from phrasewright.web.guard.visit import Role, Who
from phrasewright.web.guard.who import page_token, somebody
from phrasewright.web.jobs.errands import StudioErrands
from phrasewright.web.studio import open_studio

ROOM, PACK = f"/room/{LESSON_ID}/", f"/pack/{LESSON_ID}/"
NOBODY = "0" * 12


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    lesson_in(tmp_path)
    studio = open_studio(tmp_path)
    yield as_local(TestClient(create_application(studio), base_url=HOME, follow_redirects=False))
    studio.engine.dispose()


def test_a_lesson_without_a_pack(client: TestClient) -> None:
    """It is told as not built; its room says so in words; a lesson that is none is told."""
    told = client.get(f"/api/lessons/{LESSON_ID}/pack").json()
    assert told == {
        "built": False,
        "current": False,
        "made_at": None,
        "size_bytes": 0,
        "files": [],
        "page": ROOM,
    }
    page = client.get(ROOM)
    assert page.status_code == 404
    assert "has not handed out this lesson yet" in page.text
    assert "This lesson has not been handed out yet." in client.get(f"/pack/{LESSON_ID}.zip").text
    for address in (f"/api/lessons/{NOBODY}/pack", f"/room/{NOBODY}/", f"/pack/{NOBODY}/index.html"):
        assert "There is no such lesson." in client.get(address).text


def test_what_is_in_a_pack(client: TestClient, tmp_path: Path) -> None:
    """Every file with role and size; current until the lesson changes."""
    write_pack(tmp_path)
    told = client.get(f"/api/lessons/{LESSON_ID}/pack").json()
    assert told["built"]
    assert told["current"]
    assert {one["path"]: one["size_bytes"] for one in told["files"]} == {n: len(c) for n, c in FILES.items()}
    assert told["size_bytes"] == sum(map(len, FILES.values()))
    (tmp_path / f"{NAME}.toml").write_text("changed", encoding="utf-8")
    assert not client.get(f"/api/lessons/{LESSON_ID}/pack").json()["current"]


@pytest.mark.parametrize("where", [ROOM, PACK])
def test_files_come_with_type_and_digest_and_only_once(client: TestClient, tmp_path: Path, where: str) -> None:
    """Right bytes, right type, a strong tag; a browser that has them is told so."""
    write_pack(tmp_path)
    types = {"page.css": "text/css; charset=utf-8", "band.mp3": "audio/mpeg", "long.flac": "audio/flac"}
    for name, content in FILES.items():
        if name == "index.html":
            continue
        answer = client.get(where + name)
        assert answer.content == content
        assert answer.headers["etag"] == f'"{hashlib.sha256(content).hexdigest()}"'
        assert answer.headers["content-type"] == types.get(Path(name).name, "text/plain; charset=utf-8")
        again = client.get(where + name, headers={"if-none-match": f'"x", W/{answer.headers["etag"]}'})
        assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize("name", ["audio/240/band.mp3", "audio/240/long.flac"])
def test_sound_comes_in_parts(client: TestClient, tmp_path: Path, name: str) -> None:
    """A player asks for parts: RFC 9110, 14; a part of an older version is not mixed with this one."""
    write_pack(tmp_path)
    part = client.get(PACK + name, headers={"range": "bytes=100-199"})
    assert (part.status_code, part.content) == (206, FILES[name][100:200])
    assert part.headers["content-range"] == f"bytes 100-199/{len(FILES[name])}"
    other = client.get(PACK + name, headers={"range": "bytes=100-199", "if-range": '"older"'})
    assert (other.status_code, len(other.content)) == (200, len(FILES[name]))
    beyond = client.get(PACK + name, headers={"range": "bytes=99999999-"})
    assert beyond.status_code == 416


@pytest.mark.parametrize(
    "name",
    ["manifest.json", "notes.txt", "..%2Ftiny.toml", "%2e%2e/tiny.toml", "/etc/hostname", "assets", ""],
)
def test_only_what_the_manifest_names(client: TestClient, tmp_path: Path, name: str) -> None:
    """Files that lie there and are no part of the pack, or outside of it, are not given out."""
    (write_pack(tmp_path) / "notes.txt").write_text("private")
    answer = client.get(PACK + name)
    assert answer.status_code == 404
    assert "private" not in answer.text


@pytest.mark.parametrize("way", ["../tiny.toml", "link.txt"])
def test_a_manifest_from_elsewhere_opens_nothing(client: TestClient, tmp_path: Path, way: str) -> None:
    """A manifest that names a file outside, or a link that leads out, is not followed."""
    pack = write_pack(tmp_path)
    (pack / "link.txt").symlink_to(tmp_path / f"{NAME}.toml")
    write_manifest(pack, {way: (tmp_path / f"{NAME}.toml").read_bytes()})
    answer = client.get(PACK + way.replace("..", "%2e%2e"))
    assert answer.status_code in (404, 503)
    assert "pentatonic" not in answer.text


def test_bytes_are_what_the_manifest_says(client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that is not what its manifest says is not sent; when a build has moved all in, the new one is."""
    monkeypatch.setattr(pack_shelf, "PAUSE_S", 0.0)
    pack = write_pack(tmp_path)
    new = FILES | {"words.txt": b"new words", "audio/240/long.flac": b"9" * 5_000_000}
    for name in ("words.txt", "audio/240/long.flac"):
        (pack / name).write_bytes(new[name])
        assert client.get(PACK + name).status_code == 503
    write_manifest(pack, new)
    for name in ("words.txt", "audio/240/long.flac"):
        assert client.get(PACK + name).content == new[name]


def test_a_rebuilt_pack_shows_at_once(client: TestClient, tmp_path: Path) -> None:
    """The page is kept in memory by what is in it, not by its name."""
    write_pack(tmp_path)
    first = client.get(ROOM)
    write_pack(tmp_path, FILES | {"index.html": PAGE.format("other").encode()})
    then = client.get(ROOM, headers={"if-none-match": first.headers["etag"]})
    assert then.status_code == 200
    assert "other" in then.text


@pytest.mark.parametrize("token", ["", 'secret"><script>'])
def test_the_room_is_the_page_with_lines_of_the_studio(client: TestClient, tmp_path: Path, token: str) -> None:
    """The lines stand at the end of the head, once; squeezed or not, the page is the same."""
    write_pack(tmp_path)
    client.app.dependency_overrides[page_token] = lambda: token  # type: ignore[attr-defined]
    plain = client.get(ROOM, headers={"accept-encoding": "identity"})
    squeezed = client.get(ROOM, headers={"accept-encoding": "gzip"})
    assert squeezed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert squeezed.content == plain.content
    head, _, body = plain.text.partition("</head>")
    assert body == FILES["index.html"].decode().partition("</head>")[2]
    assert head.endswith("\n")
    assert f'<meta name="phrasewright-room" content="{LESSON_ID}">' in head
    assert '<script type="module" src="/static/room/room.js"></script>' in head
    assert '<link rel="stylesheet" href="/static/room/room.css">' in head
    assert ("phrasewright-token" in head) == bool(token)
    assert "<script>" not in head
    known = client.get(ROOM, headers={"if-none-match": plain.headers["etag"]})
    assert known.status_code == 304


def test_the_squeezed_room_is_one_gzip_member(client: TestClient, tmp_path: Path) -> None:
    """RFC 1952: checked by another reader, length and check sum included; half the size at most."""
    write_pack(tmp_path)
    with client.stream("GET", ROOM, headers={"accept-encoding": "gzip"}) as answer:
        raw = b"".join(answer.iter_raw())
    content = gzip.decompress(raw)
    assert content.count(b"phrasewright-room") == 1
    assert len(raw) * 2 < len(content)
    assert raw.count(b"\x1f\x8b\x08") == 1


def test_text_is_squeezed_where_that_is_understood(client: TestClient, tmp_path: Path) -> None:
    """Page files are; sound is not; who does not want it gets it plain."""
    write_pack(tmp_path)
    name = PACK + "assets/page.css"
    assert client.get(name, headers={"accept-encoding": "br, gzip;q=0.5"}).headers["content-encoding"] == "gzip"
    for refused in ("identity", "gzip;q=0", "br"):
        assert "content-encoding" not in client.get(name, headers={"accept-encoding": refused}).headers
    assert "content-encoding" not in client.get(PACK + "audio/240/band.mp3").headers


def test_the_whole_pack_as_a_zip(client: TestClient, tmp_path: Path) -> None:
    """Every file of the manifest and the manifest, in a folder, stored; checked by Python's own reader."""
    write_pack(tmp_path)
    answer = client.get(f"/pack/{LESSON_ID}.zip")
    assert answer.headers["content-type"] == "application/zip"
    assert answer.headers["content-disposition"] == "attachment; filename*=UTF-8''tiny.zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == {f"tiny/{name}" for name in (*FILES, "manifest.json")}
        assert {one.compress_type for one in archive.infolist()} == {zipfile.ZIP_STORED}
        assert archive.read("tiny/words.txt") == FILES["words.txt"]


def test_only_the_teacher_hands_out(client: TestClient) -> None:
    """A student is refused; the teacher's wish is remembered, once for a build that waits."""
    client.app.dependency_overrides[somebody] = lambda: Who(role=Role.STUDENT, student_id="a" * 12)  # type: ignore[attr-defined]
    assert client.post(f"/api/lessons/{LESSON_ID}/pack").status_code == 403
    client.app.dependency_overrides.clear()  # type: ignore[attr-defined]
    begun = client.post(f"/api/lessons/{LESSON_ID}/pack")
    assert begun.status_code == 202
    assert client.post(f"/api/lessons/{LESSON_ID}/pack").json() == begun.json()
    assert client.get(f"/api/jobs/{begun.json()['job']}").json()["state"] == "queued"
    studio = client.app.state.studio  # type: ignore[attr-defined]
    assert [one.job_id for one in StudioErrands(studio).after_a_start()] == [begun.json()["job"]]
    client.app.dependency_overrides[somebody] = lambda: Who(role=Role.STUDENT, student_id="a" * 12)  # type: ignore[attr-defined]
    assert client.get(f"/api/jobs/{begun.json()['job']}").status_code == 404
    assert client.delete(f"/api/jobs/{begun.json()['job']}").status_code == 404

"""Names from addresses never lead out of their folder."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi import FastAPI
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from starlette.testclient import TestClient

from phrasewright.web.answers import RefusedError
from phrasewright.web.guard.names import ID, FileInPack, LessonId, file_in, new_id, relative_path

HOSTILE = [
    "",
    ".",
    "..",
    "../secret",
    "page/../../secret",
    "page/./index.html",
    "/etc/passwd",
    "//host/share",
    "page//index.html",
    "page/",
    "page\\..\\secret",
    "C:/secret",
    "c:secret",
    "index.html:stream",
    "nul",
    "COM1.txt",
    "page/aux.html",
    "index.html\x00.png",
    "index.html\n",
    "index\x7f.html",
    "page\u202eftp.html",
    "\ud800",
    "trailing.",
    "trailing ",
    " leading",
    "~/secret ",
    "a" * 201,
    "é" * 101,
    "/".join(["a"] * 201),
    "%2e%2e/secret%00/",
]
part = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters='\\/:*?"<>|.'),
    min_size=1,
    max_size=12,
)
anything = st.text(st.sampled_from("ab./\\:%0 \x00~é\u202e") | st.characters(), max_size=30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack with a secret beside it, and links that lead in, out, round and nowhere."""
    home = tmp_path_factory.mktemp("home")
    (home / "secret").write_text("not yours")
    pack = home / "pack"
    (pack / "page").mkdir(parents=True)
    (pack / "page" / "index.html").write_text("a lesson")
    (pack / "inside").symlink_to(pack / "page" / "index.html")
    (pack / "outside").symlink_to(home / "secret")
    (pack / "away").symlink_to(home)
    (pack / "round").symlink_to(pack / "round")
    (pack / "nowhere").symlink_to(home / "nothing")
    (home / "pack-2").mkdir()
    (home / "pack-2" / "secret").write_text("not yours either")
    return pack


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_hostile_names_are_no_names(folder: Path, name: str) -> None:
    """Refused as a shape, and refused on the disk."""
    with pytest.raises(ValueError):
        relative_path(name)
    with pytest.raises(RefusedError):
        file_in(folder, name)


@pytest.mark.parametrize(
    "name", ["outside", "away/secret", "away/pack-2/secret", "round", "nowhere", "page", "no/file"]
)
def test_links_and_folders_lead_nowhere(folder: Path, name: str) -> None:
    """A link out, a link into itself, a folder, and nothing are all no file here."""
    with pytest.raises(RefusedError) as refused:
        file_in(folder, name)
    assert refused.value.status == 404


def test_files_of_the_folder_are_found(folder: Path) -> None:
    """By their own name, and by a link that stays inside."""
    for name in ("page/index.html", "inside"):
        assert file_in(folder, name).read_text() == "a lesson"


@given(anything)
def test_nothing_outside_is_ever_found(folder: Path, name: str) -> None:
    """Whatever the name, what is found lies inside the folder."""
    try:
        found = file_in(folder, name)
    except RefusedError:
        return
    assert found.read_text() == "a lesson"


@given(st.lists(part, min_size=1, max_size=5))
def test_plain_names_pass(parts: list[str]) -> None:
    """Words joined by slashes are a path and stay as they are, unless one names a device."""
    name = "/".join(parts)
    devices = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9]", re.IGNORECASE)
    if not any(devices.fullmatch(one) for one in parts):
        assert relative_path(name) == name


@given(st.text(max_size=14) | st.from_regex(r"[0-9a-f]{12}\n?", fullmatch=True))
def test_an_id_is_twelve_digits_and_nothing_else(text: str) -> None:
    """Also no line end after them, which the dollar sign of some expressions lets through."""
    matches = re.fullmatch(r"[0-9a-f]{12}", text) is not None
    try:
        TypeAdapter(LessonId).validate_python(text)
    except ValidationError:
        assert not matches
    else:
        assert matches


def test_new_ids_are_ids() -> None:
    """Ids made here are ids, and differ."""
    ids = {new_id() for _ in range(100)}
    assert len(ids) == 100
    assert all(re.fullmatch(ID, one) for one in ids)


def test_the_types_refuse_in_a_route(folder: Path) -> None:
    """As the type of a route's parameter they let only names through, however the address is written."""
    application = FastAPI()

    @application.get("/pack/{lesson_id}/{name:path}")
    def file(lesson_id: LessonId, name: FileInPack) -> str:
        return file_in(folder, name).read_text()

    client = TestClient(application)
    assert client.get("/pack/00112233aabb/page/index.html").json() == "a lesson"
    for path in ("00112233AABB/inside", "00112233aabb/..%2fsecret", "00112233aabb/%2e%2e/secret", "x/inside"):
        assert client.get(f"/pack/{path}").status_code in (404, 422)

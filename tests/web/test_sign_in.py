"""Password, sessions and links, through the studio's own pages."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.profiles import RFC_9106_LOW_MEMORY
from sqlalchemy import select
from starlette.testclient import TestClient
from studio_clients import CHEAP, PASSWORD, TOKEN, Class, shared_class

from phrasewright.course.password import (
    PASSWORD as PASSWORDS,
)
from phrasewright.course.password import (
    PasswordError,
    check_password,
    set_password,
    strong_hasher,
)
from phrasewright.course.people import invite, remove_student, revoke
from phrasewright.course.sessions import STUDENT_SPAN, TEACHER_SPAN, Span
from phrasewright.course.tokens import new_secret, token_of
from phrasewright.web.guard import cookies
from phrasewright.web.routes.entrance import next_page


@pytest.fixture
def school(tmp_path: Path) -> Class:
    return shared_class(tmp_path)


def sign_in(client: TestClient, password: str = PASSWORD, **fields: str) -> int:
    return client.post("/sign-in", data={"password": password} | fields).status_code


def test_the_teacher_signs_in_and_out(school: Class) -> None:
    """Before: the sign-in page. With the password: the page that was asked for. After signing out: closed again."""
    client = school.somebody()
    asked = client.get("/students?removed=1")
    assert (asked.status_code, asked.headers["location"]) == (303, "/sign-in?next=%2Fstudents%3Fremoved%3D1")
    page = client.get(asked.headers["location"])
    assert 'name="next" value="/students?removed=1"' in page.text
    assert sign_in(client, "not this one") == 401
    answer = client.post("/sign-in", data={"password": PASSWORD, "next": "/students?removed=1"})
    assert answer.headers["location"] == "/students?removed=1"
    assert client.get("/students").status_code == 200
    assert client.get("/sign-in").headers["location"] == "/"
    kept = client.cookies[cookies.SESSION]
    client.headers[TOKEN] = token_of(kept)
    assert client.post("/sign-out").headers["location"] == "/sign-in"
    assert cookies.SESSION not in client.cookies
    client.cookies.set(cookies.SESSION, kept, domain="127.0.0.1", path="/")
    assert client.get("/students").status_code == 303


def test_the_cookie_is_out_of_reach(school: Class) -> None:
    """No script reads it, no other site sends it, and over https it is never sent in the open."""
    plain = school.somebody().post("/sign-in", data={"password": PASSWORD}).headers["set-cookie"].lower()
    assert {"httponly", "samesite=strict", "path=/"} <= set(plain.split("; "))
    assert "secure" not in plain
    client = school.somebody()
    client.base_url = "https://127.0.0.1:8642"
    assert "secure" in client.post("/sign-in", data={"password": PASSWORD}).headers["set-cookie"].lower().split("; ")
    fresh = TestClient(school.application, base_url="https://127.0.0.1")
    guest = fresh.get("/sign-in").headers["set-cookie"].lower().split("; ")
    assert {"httponly", "samesite=strict", "secure"} <= set(guest)


def test_a_session_that_somebody_planted_is_not_used(school: Class) -> None:
    """Session fixation: a secret that the browser brings along is never made good, and a used one is not kept."""
    client, planted = school.somebody(), new_secret()
    client.cookies.set(cookies.SESSION, planted, domain="127.0.0.1", path="/")
    assert sign_in(client) == 303
    first = client.cookies[cookies.SESSION]
    assert first != planted
    assert sign_in(client) == 303
    second = client.cookies[cookies.SESSION]
    assert second != first
    for secret, status in ((planted, 303), (first, 303), (second, 200)):
        client.cookies.set(cookies.SESSION, secret, domain="127.0.0.1", path="/")
        assert client.get("/students").status_code == status


@pytest.mark.parametrize("span", [TEACHER_SPAN, STUDENT_SPAN], ids=["teacher", "student"])
def test_sessions_end(school: Class, span: Span) -> None:
    """A session ends when it lies idle, and in any case after a while; use keeps it until then."""
    maya = school.new_student()
    idle, used = (school.student(maya) if span is STUDENT_SPAN else school.teacher() for _ in range(2))
    address, began = "/api/openapi.json", school.clock.at
    school.clock.at += span.idle - timedelta(seconds=1)
    assert used.get(address).status_code == 200
    school.clock.at += timedelta(seconds=1)
    assert idle.get(address).status_code == 401
    while school.clock.at < began + span.whole:
        assert used.get(address).status_code == 200
        school.clock.at += min(span.idle / 2, began + span.whole - school.clock.at)
    assert used.get(address).status_code == 401


def test_a_new_password_ends_every_session(school: Class) -> None:
    """Teacher and students are signed out, the old password opens nothing."""
    teacher, student = school.teacher(), school.student(school.new_student())
    set_password(school.studio.engine, "quite another one", hasher=CHEAP, now=school.clock.now())
    assert teacher.get("/students").status_code == 303
    assert student.get("/api/openapi.json").status_code == 401
    assert (sign_in(school.somebody()), sign_in(school.somebody(), "quite another one")) == (401, 303)


def test_passwords_are_hashed_with_argon2id(school: Class) -> None:
    """The studio's parameters are those of RFC 9106, section 4, second choice; every hash has its own salt."""
    assert extract_parameters(strong_hasher().hash(PASSWORD)) == RFC_9106_LOW_MEMORY
    assert (RFC_9106_LOW_MEMORY.memory_cost, RFC_9106_LOW_MEMORY.time_cost, RFC_9106_LOW_MEMORY.parallelism) == (
        65536,
        3,
        4,
    )
    first = _hash(school)
    set_password(school.studio.engine, PASSWORD, hasher=CHEAP, now=school.clock.now())
    assert first.startswith("$argon2id$")
    assert _hash(school) != first


def test_a_hash_grows_with_the_parameters(school: Class) -> None:
    """Signing in makes an old, weaker hash anew, and ends no session; a wrong password changes nothing."""
    stronger = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1)
    teacher, before = school.teacher(), _hash(school)
    assert not check_password(school.studio.engine, "not this one", hasher=stronger)
    assert _hash(school) == before
    assert check_password(school.studio.engine, PASSWORD, hasher=stronger)
    assert extract_parameters(_hash(school)).memory_cost == 16
    assert check_password(school.studio.engine, PASSWORD, hasher=stronger)
    assert teacher.get("/students").status_code == 200


@pytest.mark.parametrize("password", ["", "ninechars", "x" * 201])
def test_a_password_must_protect(school: Class, password: str) -> None:
    """Under ten characters or over two hundred it is refused, and the old one stays."""
    with pytest.raises(PasswordError):
        set_password(school.studio.engine, password, hasher=CHEAP, now=school.clock.now())
    assert check_password(school.studio.engine, PASSWORD, hasher=CHEAP)


def test_a_password_is_the_same_from_every_keyboard(school: Class) -> None:
    """One letter with its accent equals letter and accent."""
    set_password(school.studio.engine, "cre\u0301me bru\u0302le\u0301e", hasher=CHEAP, now=school.clock.now())
    assert check_password(school.studio.engine, "cr\u00e9me br\u00fbl\u00e9e", hasher=CHEAP)


def test_a_link_lets_its_student_in_and_is_not_used_up(school: Class) -> None:
    """Opening it says who; the button goes in; a preview by some program, before or after, changes nothing."""
    teacher, maya = school.teacher(), school.new_student()
    link = teacher.post(f"/api/students/{maya.id}/invitation").json()["link"]
    path = link.removeprefix("http://127.0.0.1:8642")
    for _ in range(2):
        page = school.somebody().get(path)
        assert "You are Maya" in page.text
        assert cookies.SESSION not in page.cookies
    for _ in range(2):
        client = TestClient(school.application, base_url="http://127.0.0.1:8642", follow_redirects=False)
        token = re.search(r'name="token" value="(\w+)"', client.get(path).text)
        assert token is not None
        assert client.post(path).status_code == 403
        assert client.post(path, data={"token": token[1]}).headers["location"] == "/"
        assert client.get("/students").status_code == 403


def test_a_link_opens_beside_an_older_session(school: Class) -> None:
    """Followed from a mail, the cookie of a session comes only with the button; the link opens all the same."""
    maya, ben = school.new_student(), school.new_student("Ben")
    secret = invite(school.studio.engine, ben.id, now=school.clock.now())
    client = school.student(maya)
    session = client.cookies[cookies.SESSION]
    del client.headers[TOKEN]
    client.cookies.delete(cookies.SESSION)
    token = re.search(r'name="token" value="(\w+)"', client.get(f"/come/{secret}").text)
    client.cookies.set(cookies.SESSION, session, domain="127.0.0.1", path="/")
    assert token is not None
    assert client.post(f"/come/{secret}", data={"token": token[1]}).status_code == 303
    client.cookies.set(cookies.SESSION, session, domain="127.0.0.1", path="/")
    assert client.get("/api/openapi.json").status_code == 401  # Maya's session has ended


def test_ended_links_open_nothing(school: Class) -> None:
    """Revoked, replaced, of somebody removed, or never made: the same page, and the same refusal on the button."""
    engine, now = school.studio.engine, school.clock.now()
    maya, ben, zoe = (school.new_student(name) for name in ("Maya", "Ben", "Zoe"))
    old = [invite(engine, one.id, now=now) for one in (maya, ben, zoe)]
    revoke(engine, maya.id)
    invite(engine, ben.id, now=now)
    remove_student(engine, zoe.id, now=now)
    pages = set()
    for secret in (*old, new_secret()):
        client = school.somebody()
        seen, gone = client.get(f"/come/{secret}"), client.post(f"/come/{secret}")
        assert (seen.status_code, gone.status_code) == (404, 404)
        pages.add(re.sub(r'content="\w+"', "", seen.text))
    assert len(pages) == 1


def test_a_removed_student_is_out_at_once(school: Class) -> None:
    """The next request of a removed student is nobody's."""
    maya = school.new_student()
    client = school.student(maya)
    assert client.get("/api/openapi.json").status_code == 200
    assert school.teacher().delete(f"/api/students/{maya.id}").status_code == 204
    assert client.get("/api/openapi.json").status_code == 401


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ("/students", "/students"),
        ("/room/00112233aabb/?at=3", "/room/00112233aabb/?at=3"),
        ("//evil.example/", "/"),
        ("/\\evil.example/", "/"),
        ("https://evil.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("/a\r\nSet-Cookie: x=1", "/"),
        ("/a\\b", "/"),
        ("", "/"),
    ],
)
def test_signing_in_leads_nowhere_else(asked: str, given: str) -> None:
    """Only a path of the studio itself is gone on to (open redirect)."""
    assert next_page(asked) == given


def _hash(school: Class) -> str:
    with school.studio.engine.connect() as connection:
        return str(connection.execute(select(PASSWORDS.c.hash)).scalar())

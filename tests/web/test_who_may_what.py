"""Who may do what: nobody, a student, the teacher, and the teacher at this computer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute
from starlette.testclient import TestClient
from studio_clients import HOME, PASSWORD, TOKEN, Class, local_teacher, shared_class

from phrasewright.course.tokens import new_secret, same, token_of
from phrasewright.web import application as studio_application
from phrasewright.web.guard import cookies
from phrasewright.web.guard.headers import SAFE_HEADERS
from phrasewright.web.guard.visit import LOCAL, NOBODY, Role, Who
from phrasewright.web.guard.who import anybody, may_see, somebody, teacher_only

WRITTEN = {"student_id": "000000000000"}
UNNAMED = ("/static/paper.css",)  # the colours, for everybody


@pytest.fixture
def school(tmp_path: Path) -> Class:
    return shared_class(tmp_path)


def routes() -> Iterator[APIRoute]:
    for router in studio_application.ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute)
            yield route


def asks(dependant: Dependant) -> set[object]:
    """Every dependency of a route, all the way down."""
    return {dependant.call}.union(*map(asks, dependant.dependencies))


def test_every_route_says_whom_it_is_for() -> None:
    """No route is open because somebody forgot to think of it."""
    for route in routes():
        named = asks(route.dependant) & {anybody, somebody, teacher_only}
        assert named or route.path in UNNAMED, f"{route.path} names nobody"


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/students"),
        ("POST", "/students"),
        ("POST", "/students/{id}/name"),
        ("POST", "/students/{id}/invitation"),
        ("POST", "/students/{id}/revoke"),
        ("POST", "/students/{id}/remove"),
        ("POST", "/students/{id}/restore"),
        ("GET", "/api/students"),
        ("POST", "/api/students"),
        ("PATCH", "/api/students/{id}"),
        ("DELETE", "/api/students/{id}"),
        ("POST", "/api/students/{id}/restore"),
        ("POST", "/api/students/{id}/invitation"),
        ("DELETE", "/api/students/{id}/invitation"),
    ],
)
def test_students_reach_nothing_of_the_teachers(school: Class, method: str, path: str) -> None:
    """A student gets 403 with a page or a refusal; somebody not signed in is sent to sign in, or gets 401."""
    maya = school.new_student()
    address = path.format(id=maya.id)
    student = school.student(maya).request(method, address, json={"name": "Zoe"})
    nobody = school.somebody().request(method, address, json={"name": "Zoe"})
    assert student.status_code == 403
    assert "This is for the teacher." in student.text
    assert nobody.status_code == (303 if (method, path) == ("GET", "/students") else 401)
    assert [one["name"] for one in school.teacher().get("/api/students").json()] == ["Maya"]


def test_all_those_routes_are_tested() -> None:
    """The table above holds every route of students and links."""
    marks = test_students_reach_nothing_of_the_teachers.pytestmark  # type: ignore[attr-defined]
    table = {tuple(row) for row in marks[0].args[1]}
    there = {
        (method, route.path.replace("{student_id}", "{id}"))
        for route in routes()
        if "students" in route.path
        for method in route.methods
    }
    assert table == there


@pytest.mark.parametrize(
    ("who", "owner", "may"),
    [
        (LOCAL, "", True),
        (LOCAL, "00112233aabb", True),
        (Who(role=Role.TEACHER), "00112233aabb", True),
        (Who(role=Role.STUDENT, student_id="00112233aabb"), "00112233aabb", True),
        (Who(role=Role.STUDENT, student_id="00112233aabb"), "ffffffffffff", False),
        (Who(role=Role.STUDENT, student_id="00112233aabb"), "", False),
        (NOBODY, "", False),
        (NOBODY, "00112233aabb", False),
    ],
)
def test_a_student_sees_their_own(who: Who, owner: str, may: bool) -> None:
    """What belongs to the teacher (no owner) or to another student stays out of sight."""
    assert may_see(who, owner) is may


def test_a_forgotten_route_is_still_closed_to_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The guard itself asks everybody to sign in, also for what is not there."""
    forgotten = APIRouter()
    forgotten.add_api_route("/api/forgotten", lambda: "open")
    monkeypatch.setattr(studio_application, "ROUTERS", (*studio_application.ROUTERS, forgotten))
    school = shared_class(tmp_path)
    assert school.somebody().get("/api/forgotten").status_code == 401
    assert school.somebody().get("/api/not-there").status_code == 401
    assert school.somebody().get("/not-there").status_code == 303
    assert school.teacher().get("/api/forgotten").json() == "open"


def test_a_page_left_open_is_told(school: Class) -> None:
    """A token of before signing in, or of another session, no longer counts; the words say to load the page again."""
    client, other = school.teacher(), school.teacher()
    for token in (token_of(client.cookies[cookies.GUEST]), other.headers[TOKEN]):
        answer = client.post("/api/students", json={"name": "Zoe"}, headers={TOKEN: token})
        assert answer.status_code == 403
        assert answer.json()["hint"] == "Load the page again, then repeat what you did."
    assert client.post("/api/students", json={"name": "Zoe"}).status_code == 201


def test_a_browser_gets_its_secret_with_its_first_page(tmp_path: Path) -> None:
    """The token of the first page works at once, in a form and as a header, and only in that browser."""
    with local_teacher(tmp_path) as known:
        client, other = (TestClient(known.app, base_url=HOME, follow_redirects=False) for _ in range(2))
        assert "set-cookie" not in client.get("/api/students").headers
        token = client.get("/students").text.partition('phrasewright-token" content="')[2][:64]
        assert client.post("/students", data={"name": "Zoe", "token": token}).status_code == 303
        assert client.post("/api/students", json={"name": "Ben"}, headers={TOKEN: token}).status_code == 201
        assert "set-cookie" not in client.get("/students").headers
        assert other.post("/api/students", json={"name": "Eve"}, headers={TOKEN: token}).status_code == 403
        other.get("/students")
        assert other.post("/api/students", json={"name": "Eve"}, headers={TOKEN: token}).status_code == 403


def test_a_link_in_a_mail_needs_no_second_sign_in(school: Class) -> None:
    """Coming from elsewhere the browser keeps the cookie back; our page asks anew by itself, once."""
    elsewhere = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    followed = school.somebody().get("/students", headers=elsewhere)
    assert followed.status_code == 200
    assert '<meta http-equiv="refresh" content="0">' in followed.text
    assert school.teacher().get("/students", headers={"Sec-Fetch-Site": "same-origin"}).status_code == 200
    assert school.somebody().get("/students", headers={"Sec-Fetch-Site": "same-origin"}).status_code == 303


def test_links_are_for_other_computers(school: Class, tmp_path: Path) -> None:
    """A link begins with the address the teacher uses, or one that others can reach; none is made unshared."""
    maya, teacher = school.new_student(), school.teacher()
    made = teacher.post(f"/api/students/{maya.id}/invitation", headers={"Host": "192.168.1.20:8642"}).json()["link"]
    assert made.startswith("http://192.168.1.20:8642/come/")
    shown = teacher.post(f"/students/{maya.id}/invitation").text
    assert "A link for Maya" in shown
    assert made not in teacher.get("/students").text
    reached = shared_class(tmp_path / "other", origins=("https://lessons.example.org",))
    ben = reached.new_student("Ben")
    assert (
        reached.teacher()
        .post(f"/api/students/{ben.id}/invitation")
        .json()["link"]
        .startswith("https://lessons.example.org/come/")
    )
    with local_teacher(tmp_path / "local") as client:
        zoe = client.post("/api/students", json={"name": "Zoe"}).json()["id"]
        refused = client.post(f"/api/students/{zoe}/invitation")
        assert refused.status_code == 409
        assert "phrasewright serve --share" in refused.json()["hint"]


def test_a_proxy_in_front_is_the_same_site(tmp_path: Path) -> None:
    """What a page of the public address asks for is done, also when the proxy forwards under another name."""
    school = shared_class(tmp_path, origins=("https://lessons.example.org",), hosts=frozenset({"127.0.0.1"}))
    teacher = school.teacher()
    for origin, status in (("https://lessons.example.org", 201), ("https://example.org", 403)):
        assert teacher.post("/api/students", json={"name": "Zoe"}, headers={"Origin": origin}).status_code == status


def test_names_and_addresses_of_a_shared_studio(school: Class) -> None:
    """Every bare address is answered, as none can be pointed elsewhere; a foreign name is not."""
    client = school.somebody()
    for host, status in (
        ("192.168.7.9:8642", 200),
        ("[2001:db8::1]:8642", 200),
        ("LOCALHOST", 200),
        ("evil.example", 421),
        ("1.2.3", 421),
        ("[::1::]", 421),
    ):
        assert client.get("/sign-in", headers={"Host": host}).status_code == status, host


def test_in_local_mode_there_is_no_sign_in(tmp_path: Path) -> None:
    """Everybody at this computer is the teacher; the doors lead to the first page or nowhere."""
    with local_teacher(tmp_path) as client:
        assert client.get("/sign-in").headers["location"] == "/"
        assert client.post("/sign-in", data={"password": PASSWORD}).headers["location"] == "/"
        assert client.get(f"/come/{new_secret()}").status_code == 404
        assert "Sign out" not in client.get("/students").text


def test_what_may_be_kept(school: Class) -> None:
    """Style is asked about each time; what belongs to a person is kept nowhere."""
    teacher = school.teacher()
    assert teacher.get("/static/sheet.css").headers["cache-control"] == "no-cache"
    for path in ("/students", "/api/students", "/sign-in"):
        assert teacher.get(path).headers["cache-control"] == "no-store"


def test_a_failure_is_told_safely(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A mistake of the program shows no more than that there was one, with the safe headers."""
    broken = APIRouter()

    @broken.get("/broken", dependencies=[])
    def fail() -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(studio_application, "ROUTERS", (*studio_application.ROUTERS, broken))
    school = shared_class(tmp_path)
    application: FastAPI = school.application
    client = TestClient(application, base_url=HOME, raise_server_exceptions=False)
    client.cookies = school.teacher().cookies
    answer = client.get("/broken")
    assert answer.status_code == 500
    assert "secret detail" not in answer.text
    assert answer.headers["content-security-policy"] == SAFE_HEADERS["Content-Security-Policy"]


def test_tokens_are_compared_in_even_time(school: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison that does not stop at the first difference is the one that decides."""
    compared = []

    def compare(first: bytes, second: bytes) -> bool:
        compared.append((first, second))
        return False

    teacher = school.teacher()
    monkeypatch.setattr("hmac.compare_digest", compare)
    assert teacher.post("/api/students", json={"name": "Zoe"}).status_code == 403
    token = teacher.headers[TOKEN].encode()
    assert (token, token) in compared


@pytest.mark.parametrize("other", ["", "abd", "abcd", "\xe9", "\ud800"])
def test_secrets_are_compared_whole(other: str) -> None:
    """Any text can be compared, also one that no header can hold."""
    assert same("abc", "abc")
    assert not same("abc", other)

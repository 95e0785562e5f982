"""Browsers of a studio for tests: the local teacher's, the signed-in teacher's, a student's, somebody's.

Each client keeps its cookies and sends the token of its pages, as the studio's scripts do.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argon2 import PasswordHasher
from starlette.testclient import TestClient

from phrasewright.course.password import set_password
from phrasewright.course.people import Student, make_student
from phrasewright.course.sessions import open_session
from phrasewright.course.tokens import new_secret, token_of
from phrasewright.web.application import create_application
from phrasewright.web.guard import cookies
from phrasewright.web.guard.rates import Rate, Rates
from phrasewright.web.guard.sharing import Sharing
from phrasewright.web.studio import Studio, open_studio

HOME = "http://127.0.0.1:8642"
TOKEN = "X-Phrasewright-Token"
PASSWORD = "crow lamp seven plum"
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
UNHURRIED = Rates(
    **{name: Rate(burst=10**6, per_s=1000) for name in ("sign_in", "come", "upload", "session", "address")}
)
BEGIN = datetime(2026, 9, 1, 15, 0, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that tests move. at: the moment; s: of the clock that never steps."""

    at: datetime = BEGIN
    s: float = 1000.0

    def now(self) -> datetime:
        return self.at

    def clock_s(self) -> float:
        return self.s

    def pass_s(self, seconds: float) -> None:
        self.s += seconds
        self.at += timedelta(seconds=seconds)


@dataclass
class Class:
    """A shared studio with its people. Each client is a browser of its own."""

    studio: Studio
    sharing: Sharing
    clock: Clock = field(default_factory=Clock)

    def __post_init__(self) -> None:
        self.application = create_application(self.studio, self.sharing)

    def somebody(self, *, address: str = "192.168.1.50") -> TestClient:
        """A browser that has not signed in."""
        return as_local(TestClient(self.application, base_url=HOME, client=(address, 50000), follow_redirects=False))

    def teacher(self) -> TestClient:
        """A browser in which the teacher has signed in."""
        return self._signed_in(None)

    def student(self, student: Student) -> TestClient:
        """A browser in which a student has come in."""
        return self._signed_in(student.id)

    def new_student(self, name: str = "Maya") -> Student:
        """A student of the class."""
        return make_student(self.studio.engine, name, now=self.clock.now())

    def new_session(self, student_id: str | None = None) -> str:
        """The secret of a session, the teacher's when no student is named."""
        return open_session(self.studio.engine, student_id=student_id, now=self.clock.now())

    def _signed_in(self, student_id: str | None) -> TestClient:
        client = self.somebody()
        secret = self.new_session(student_id)
        client.cookies.set(cookies.SESSION, secret, domain="127.0.0.1", path="/")
        client.headers[TOKEN] = token_of(secret)
        return client


def shared_class(folder: Path, **changes: object) -> Class:
    """A shared studio in a folder, with a password; changes: of its sharing."""
    clock = Clock()
    studio = open_studio(folder)
    set_password(studio.engine, PASSWORD, hasher=CHEAP, now=clock.now())
    options = {"is_shared": True, "hasher": CHEAP, "now": clock.now, "clock_s": clock.clock_s} | changes
    return Class(studio=studio, sharing=Sharing(**options), clock=clock)  # type: ignore[arg-type]


@contextmanager
def local_teacher(folder: Path, **changes: object) -> Iterator[TestClient]:
    """The browser of the teacher at this computer, on a studio that has started."""
    application = create_application(open_studio(folder), Sharing(**changes))  # type: ignore[arg-type]
    with TestClient(application, base_url=HOME, follow_redirects=False) as client:
        yield as_local(client)


def page_headers() -> dict[str, str]:
    """Headers that make any HTTP client's requests those of a page of a local studio."""
    secret = new_secret()
    return {"Cookie": f"{cookies.GUEST}={secret}", TOKEN: token_of(secret)}


def as_local(client: TestClient) -> TestClient:
    """A client as the browser at this computer: it sends the token of its pages."""
    secret = new_secret()
    client.cookies.set(cookies.GUEST, secret, domain="127.0.0.1", path="/")
    client.headers[TOKEN] = token_of(secret)
    return client

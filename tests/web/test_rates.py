"""How often: buckets, their memory, and the answers of a studio that is asked too much."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studio_clients import PASSWORD, Class, Clock, local_teacher, shared_class

from phrasewright.web.guard.rates import Buckets, Deed, Rate, Rates, address_of, deed_of


@given(
    st.integers(1, 20),
    st.floats(0.05, 50),
    st.lists(st.floats(0, 30), min_size=1, max_size=60),
)
def test_no_more_pass_than_burst_and_pace_allow(burst: int, per_s: float, pauses: list[float]) -> None:
    """In any stretch of time no more requests pass than the burst and what has come back, and waiting as told helps."""
    clock = Clock()
    buckets, rate = Buckets(clock.clock_s), Rate(burst=burst, per_s=per_s)
    began_s = clock.s
    for passed, pause_s in enumerate(pauses, start=1):
        clock.pass_s(pause_s)
        wait_s = buckets.wait_s("one", rate)
        if wait_s:
            clock.pass_s(wait_s + 1e-6)
            assert buckets.wait_s("one", rate) == 0
        assert passed <= burst + (clock.s - began_s) * per_s + 1e-3


def test_memory_is_bounded() -> None:
    """A flood of addresses is forgotten from its oldest end; who comes often is remembered."""
    clock = Clock()
    buckets, rate = Buckets(clock.clock_s, most=100), Rate(burst=2, per_s=0.001)
    assert [buckets.wait_s("often", rate) > 0 for _ in range(3)] == [False, False, True]
    for number in range(1000):
        buckets.wait_s(f"flood {number}", rate)
        if number % 50 == 0:
            assert buckets.wait_s("often", rate) > 0
    assert len(buckets) == 100


@pytest.mark.parametrize(
    ("client", "key"),
    [
        (("192.168.1.5", 1), "192.168.1.5"),
        (("::ffff:192.168.1.5", 1), "192.168.1.5"),
        (("2001:db8:1:2:3:4:5:6", 1), "2001:db8:1:2::/64"),
        (("fe80::1%eth0", 1), "fe80::/64"),
        (("testclient", 1), "testclient"),
        (None, "unknown"),
    ],
)
def test_who_counts_as_one(client: tuple[str, int] | None, key: str) -> None:
    """An IPv4 address, and a whole house of IPv6 ones."""
    assert address_of({"client": client}) == key


@pytest.mark.parametrize(
    ("method", "path", "deed"),
    [
        ("POST", "/sign-in", Deed.SIGN_IN),
        ("GET", "/sign-in", Deed.ANYTHING),
        ("GET", "/come/abc", Deed.COME),
        ("POST", "/api/lessons/00112233aabb/takes", Deed.UPLOAD),
        ("GET", "/api/lessons/00112233aabb/takes", Deed.ANYTHING),
        ("POST", "/api/takes/00112233aabb/listen", Deed.ANYTHING),
    ],
)
def test_what_a_request_is_for(method: str, path: str, deed: Deed) -> None:
    """Deeds are told by method and path."""
    assert deed_of(method, path) is deed


def test_passwords_cannot_be_tried_on_and_on(tmp_path: Path) -> None:
    """Five tries, then one every twenty seconds, for this address; the right password has to wait as well."""
    school = shared_class(tmp_path)
    client, other = school.somebody(), school.somebody(address="192.168.1.51")
    tries = [client.post("/sign-in", data={"password": f"not this one {number}"}) for number in range(7)]
    assert [one.status_code for one in tries] == [401] * 5 + [429] * 2
    assert tries[-1].headers["retry-after"] == "20"
    assert "Try again in 20 seconds." in tries[-1].text
    assert client.post("/sign-in", data={"password": PASSWORD}).status_code == 429
    assert other.post("/sign-in", data={"password": PASSWORD}).status_code == 303
    school.clock.pass_s(20)
    assert client.post("/sign-in", data={"password": PASSWORD}).status_code == 303
    assert client.post("/sign-in", data={"password": PASSWORD}).status_code == 429


def test_one_student_cannot_take_the_room_of_all(tmp_path: Path) -> None:
    """A session that asks too much waits, with a plain refusal; the neighbour at the same address does not."""
    school: Class = shared_class(
        tmp_path, rates=Rates(session=Rate(burst=3, per_s=0.5), upload=Rate(burst=1, per_s=0.1))
    )
    maya, ben = (school.student(school.new_student(name)) for name in ("Maya", "Ben"))
    answers = [maya.get("/api/openapi.json") for _ in range(4)]
    assert [one.status_code for one in answers] == [200, 200, 200, 429]
    assert answers[-1].headers["retry-after"] == "2"
    assert answers[-1].json()["message"] == "These were too many requests at once."
    assert ben.get("/api/openapi.json").status_code == 200
    takes = [ben.post("/api/lessons/00112233aabb/takes", content=b"RIFF") for _ in range(2)]
    assert takes[1].status_code == 429
    assert takes[1].json()["message"] == "These were many takes at once."
    assert takes[0].status_code != 429


def test_an_address_is_limited_before_anything_is_looked_up(tmp_path: Path) -> None:
    """Requests without a session count by address, those for a local studio too."""
    school = shared_class(tmp_path / "school", rates=Rates(address=Rate(burst=2, per_s=0.1)))
    client = school.somebody()
    assert [client.get("/static/sheet.css").status_code for _ in range(3)] == [200, 200, 429]
    with local_teacher(tmp_path / "home", rates=Rates(address=Rate(burst=1, per_s=0.1))) as local:
        assert [local.get("/students").status_code for _ in range(2)] == [200, 429]

"""Every page of the studio that stands beside desk and room: WCAG 2.2 as far as axe sees it, and no sideways scroll."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from argon2 import PasswordHasher
from axe_check import violations
from desk_server import Served, served
from playwright.sync_api import Browser, Page

from phrasewright.course.password import set_password
from phrasewright.course.people import invite, make_student
from phrasewright.web.guard.rates import Rate, Rates
from phrasewright.web.guard.sharing import Sharing

pytestmark = pytest.mark.browser
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
OFTEN = Rates(sign_in=Rate(burst=100, per_s=10))
PASSWORD = "tide lamp seven plum"
WINDOWS = [(390, "light"), (390, "dark"), (1280, "light"), (1280, "dark")]


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(tmp_path_factory.mktemp("school"), Sharing(is_shared=True, hasher=CHEAP, rates=OFTEN)) as found:
        set_password(found.studio.engine, PASSWORD, hasher=CHEAP, now=datetime.now(UTC))
        yield found


def seen(page: Page, width: int) -> None:
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(("width", "scheme"), WINDOWS)
def test_pages_of_teacher_and_student(browser: Browser, school: Served, width: int, scheme: str) -> None:
    options = {"viewport": {"width": width, "height": 850}, "color_scheme": scheme}
    page = browser.new_context(**options).new_page()  # type: ignore[arg-type]
    page.goto(f"{school.url}/")
    assert "/sign-in" in page.url
    seen(page, width)
    page.fill("input[type=password]", "not the password")
    page.keyboard.press("Enter")
    page.wait_for_selector("[role=alert]")
    seen(page, width)
    page.fill("input[type=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_selector("html.is-ready")
    seen(page, width)
    page.goto(f"{school.url}/students")
    seen(page, width)
    page.goto(f"{school.url}/desk/{'0' * 12}/")
    assert "no such lesson" in page.inner_text("main")
    seen(page, width)
    page.context.close()

    now = datetime.now(UTC)
    secret = invite(
        school.studio.engine, make_student(school.studio.engine, f"Maya {width} {scheme}", now=now).id, now=now
    )
    page = browser.new_context(**options).new_page()  # type: ignore[arg-type]
    page.goto(f"{school.url}/come/{secret}")
    seen(page, width)
    page.click("main button")
    page.wait_for_selector("text=Nothing has been handed out yet")
    seen(page, width)
    page.goto(f"{school.url}/students")
    seen(page, width)
    page.context.close()

"""The teacher's desk by keyboard alone: the same lesson from nothing, without a mouse, and all of it undone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_check import violations
from desk_driver import Desk, open_page
from desk_server import Served, served
from playwright.sync_api import Browser

pytestmark = pytest.mark.browser
MOST_TABS = 160


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Served]:
    with served(tmp_path) as found:
        yield found


def tab_to(desk: Desk, selector: str) -> None:
    """Press Tab until the focus is on it."""
    for _ in range(MOST_TABS):
        if desk.page.evaluate("s => Boolean(document.activeElement.closest(s))", selector):
            return
        desk.page.keyboard.press("Tab")
    raise AssertionError(f"the Tab key never comes to {selector}")


def write(desk: Desk, selector: str, text: str) -> None:
    tab_to(desk, selector)
    desk.page.keyboard.press("Control+A")
    desk.page.keyboard.type(text)


def test_a_lesson_is_made_and_undone_without_a_mouse(browser: Browser, studio: Served) -> None:
    desk = open_page(browser, studio.url)
    keys = desk.page.keyboard
    assert violations(desk.page) == []
    write(desk, "#new-title", "By hand alone")
    tab_to(desk, "#new-root")
    keys.type("E")
    tab_to(desk, "#new-lesson button")
    keys.press("Enter")
    desk.page.wait_for_url("**/desk/*/")
    desk.page.wait_for_selector("html.is-ready")
    desk.rest()
    assert desk.view()["values"]["scale"]["root"] in ("E", "Eb")
    file = studio.studio.lessons.files.places().get(desk.lesson_id)
    assert file is not None
    start = file.read_text(encoding="utf-8")

    write(desk, '[data-path="lesson.teacher"]', "Ines Moreau")
    keys.press("Enter")
    desk.until(lambda one: one["values"]["lesson"]["teacher"] == "Ines Moreau")

    tab_to(desk, "live-neck .place")
    first = desk.page.evaluate("document.activeElement.dataset.place")
    keys.press("Enter")
    keys.press("ArrowRight")
    assert desk.page.evaluate("document.activeElement.dataset.place") != first
    tab_to(desk, "live-neck .hand")
    fret = desk.view()["plan"]["neck"]["fret"]
    keys.press("ArrowLeft")
    view = desk.until(lambda one: one["undo"].startswith("move the hand"))
    assert view["plan"]["neck"]["fret"] != fret or view["values"]["position"]["fret"] == fret - 1
    assert desk.page.evaluate("Boolean(document.activeElement.closest('.hand'))"), "the hand keeps the focus"

    tab_to(desk, '[data-key="pin motif-a"]')
    keys.press("Enter")
    desk.until(lambda one: one["undo"] == "pin motif A")
    assert desk.page.evaluate("document.activeElement.dataset.key") == "pin motif-a"
    write(desk, "#own-degrees", "1 b3 4")
    keys.press("Enter")
    desk.until(lambda one: one["undo"] == "motif 1 b3 4")

    tab_to(desk, "#tap-start")
    keys.press("Enter")
    desk.page.wait_for_selector(".tap-pad:not([hidden])")
    assert "One bar to count" in desk.page.locator("#tap-words").inner_text()
    desk.page.wait_for_timeout(4050)  # a bar at 60 counted in
    for _ in range(3):
        keys.down("j")
        desk.page.wait_for_timeout(500)
        keys.up("j")
        desk.page.wait_for_timeout(480)
    tab_to(desk, ".tap-pad .plain")
    keys.press("Enter")
    desk.wait("document.querySelector('#own-count').value !== ''")
    assert desk.page.locator("#own-count").input_value().replace("- ", "") in ("1 2 3", "(1) 2 3 4", "1 2 3 4")

    write(desk, '[data-path="band.chart"]', "| Em7 | A7 | Em7 | B7 |")
    keys.press("Tab")
    desk.until(lambda one: one["plan"]["chart"]["bars"] == 4)
    tab_to(desk, '[data-path="study.dial"]')
    keys.press("ArrowLeft")
    keys.press("Tab")
    desk.until(lambda one: one["values"]["study"]["dial"] == 0.55)
    tab_to(desk, '[data-key="keep study-1 1"]')
    keys.press("Space")
    tab_to(desk, '[data-key="again study-1"]')
    keys.press("Enter")
    desk.until(lambda one: one["undo"] == "draw bars anew")
    desk.rest()
    assert violations(desk.page) == []

    for _ in range(20):
        if desk.view()["undo"] == "":
            break
        keys.press("Control+z")
        desk.rest()
    assert file.read_text(encoding="utf-8") == start
    assert desk.errors == []
    desk.page.context.close()

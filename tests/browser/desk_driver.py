"""Driving the teacher's desk in Chromium: open it, wait until it rests, read what it holds."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Browser, Page

QUIET = ("Failed to load resource",)  # the browser's own line for an answer that the page tells in words


@dataclass
class Desk:
    """A page of the studio. errors: of its scripts, which a test expects to be none."""

    page: Page
    url: str
    errors: list[str] = field(default_factory=list)

    @property
    def lesson_id(self) -> str:
        return self.page.url.rstrip("/").rpartition("/")[2]

    def view(self) -> dict[str, Any]:
        """The lesson as the studio has it."""
        with urllib.request.urlopen(f"{self.url}/api/lessons/{self.lesson_id}") as answer:
            found: dict[str, Any] = json.load(answer)
        return found

    def rest(self) -> None:
        """Wait until everything asked for has been saved and engraved."""
        self.wait(
            "document.querySelector('[data-show=state]').textContent !== 'Saving …'"
            " && !document.querySelector('.study .systems[aria-busy]')"
        )

    def wait(self, condition: str) -> None:
        """Wait until a condition of the page holds; asked from outside, as the page lets no text be run as a script."""
        for _ in range(400):
            if self.page.evaluate(condition):
                return
            self.page.wait_for_timeout(25)
        raise AssertionError(f"this never came to hold: {condition}")

    def until(self, holds: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """The view as soon as something holds of it."""
        view = self.view()
        for _ in range(200):
            if holds(view):
                return view
            self.page.wait_for_timeout(25)
            view = self.view()
        raise AssertionError(f"this never came to hold; undo is {view['undo']!r}, problems {view['problems']}")

    def fill(self, path: str, text: str) -> None:
        """Write into a field and leave it."""
        self.page.locator(f'[data-path="{path}"]').fill(text)
        self.page.locator(f'[data-path="{path}"]').blur()
        self.rest()


def open_page(browser: Browser, url: str, path: str = "/", **options: Any) -> Desk:
    """A page of the studio in a window of its own."""
    page = browser.new_context(viewport={"width": 1280, "height": 900}, **options).new_page()
    desk = Desk(page=page, url=url)
    page.on("pageerror", lambda error: desk.errors.append(str(error)))
    page.on(
        "console",
        lambda message: (
            desk.errors.append(message.text) if message.type == "error" and not message.text.startswith(QUIET) else None
        ),
    )
    page.goto(url + path)
    page.wait_for_selector("html.is-ready")
    return desk


def make_lesson(desk: Desk, title: str = "Three notes and air", *, style: str = "box") -> None:
    """A new lesson in E minor pentatonic, with the mouse."""
    page = desk.page
    page.fill("#new-title", title)
    page.select_option("#new-root", "E")
    page.select_option("#new-style", style)
    page.click("text=Make the lesson")
    page.wait_for_url("**/desk/*/")
    page.wait_for_selector("html.is-ready")
    desk.rest()

"""Headless Chromium for the page: folders with rendered pages, a small web server, and pages that report trouble."""

from __future__ import annotations

import base64
import functools
import http.server
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from page_builder import RATE_HZ, content
from playwright.sync_api import Browser, Page, Route, sync_playwright

from phrasewright.engrave.page.content import PageContent
from phrasewright.engrave.page.render import render_page

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
OFFLINE = (Path(__file__).parent / "offline.js").read_text(encoding="utf-8")


@dataclass
class Sheet:
    """An open page; trouble: errors it reported and addresses it asked for outside its folder."""

    page: Page
    trouble: list[str] = field(default_factory=list)

    def render(self, piece: str, settings: dict[str, object], seconds: float, **more: object) -> np.ndarray:
        """Play a piece into memory: float32 (n,), left channel."""
        order = {"piece": piece, "settings": settings, "seconds": seconds, **more}
        text = self.page.evaluate("order => offline.render(order)", order)
        return np.frombuffer(base64.b64decode(text), dtype=np.float32)

    def play(self, piece: str) -> None:
        """Press a piece's own play button and wait until it sounds."""
        self.page.click(f'[data-play="{piece}"]')
        self.page.wait_for_function("Phrasewright.player.desk.state === 'playing'")


def write(folder: Path, page: PageContent) -> Path:
    for path, data in render_page(page).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return folder


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A rendered page."""
    return write(tmp_path_factory.mktemp("page"), content())


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture
def open_sheet(browser: Browser, folder: Path) -> Iterator[Callable[..., Sheet]]:
    """Open the page by address (default: from disk); every request outside it is refused and noted."""
    contexts = []

    def opener(address: str | None = None, *, init: str = "", **options: object) -> Sheet:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        contexts.append(context)
        sheet = Sheet(context.new_page())
        address = address or folder.as_uri() + "/index.html"
        home = address.rpartition("/")[0]

        def guard(route: Route) -> None:
            if route.request.url.startswith((home, "data:", "blob:")):
                route.continue_()
            else:
                sheet.trouble.append(f"asked for {route.request.url}")
                route.abort()

        context.route("**/*", guard)
        if init:
            context.add_init_script(init)
        sheet.page.on("pageerror", lambda error: sheet.trouble.append(str(error)))
        sheet.page.on(
            "console", lambda line: (line.type in ("error", "warning") and sheet.trouble.append(line.text)) or None
        )
        sheet.page.goto(address)
        sheet.page.evaluate(OFFLINE)
        return sheet

    yield opener
    for context in contexts:
        context.close()


@pytest.fixture
def sheet(open_sheet: Callable[..., Sheet]) -> Iterator[Sheet]:
    """The page opened from disk at desk width; the test fails if it reported any trouble."""
    opened = open_sheet()
    yield opened
    assert opened.trouble == []


@pytest.fixture(scope="session")
def desk(browser: Browser, folder: Path) -> Iterator[Sheet]:
    """One page for everything that is measured in memory."""
    page = browser.new_page()
    page.goto(folder.as_uri() + "/index.html")
    page.evaluate(OFFLINE)
    yield Sheet(page)
    page.close()


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_args: object) -> None:
        return


@pytest.fixture
def served(folder: Path) -> Iterator[str]:
    """The page's address on a small web server that stops with the test."""
    handler = functools.partial(_Quiet, directory=str(folder))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}/index.html"
        server.shutdown()
        thread.join()


def onsets_s(samples: np.ndarray, *, quiet_s: float = 0.035) -> np.ndarray:
    """Where sound begins after quiet, in seconds: a threshold crossing with nothing in the time before it."""
    loud = np.flatnonzero(np.abs(samples) > 0.004)
    starts = np.flatnonzero(np.diff(loud, prepend=-RATE_HZ) > quiet_s * RATE_HZ)
    return loud[starts] / RATE_HZ

"""Headless Chromium for the page: folders with rendered pages, a small web server, and pages that report trouble."""

from __future__ import annotations

import functools
import http.server
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from browser_sheet import Sheet, watched
from page_builder import content
from playwright.sync_api import Browser

from phrasewright.engrave.page.content import PageContent
from phrasewright.engrave.page.render import render_page

WINDOW = {"width": 1280, "height": 900}
OFFLINE = (Path(__file__).parent / "offline.js").read_text(encoding="utf-8")


def write(folder: Path, page: PageContent) -> Path:
    for path, data in render_page(page).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    return folder


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A rendered page."""
    return write(tmp_path_factory.mktemp("page"), content())


@pytest.fixture
def open_sheet(browser: Browser, folder: Path) -> Iterator[Callable[..., Sheet]]:
    """Open the page by address (default: from disk) in a window of its own.

    init: a script that runs before the page's; lost: files that are not there.
    """
    contexts = []

    def opener(address: str | None = None, *, init: str = "", lost: str = "", **options: object) -> Sheet:
        context = browser.new_context(**{"viewport": WINDOW, **options})
        contexts.append(context)
        address = address or folder.as_uri() + "/index.html"
        sheet = watched(context.new_page(), address.rpartition("/")[0])
        if lost:
            context.route(lost, lambda route: route.abort())
        if init:
            context.add_init_script(init)
        sheet.page.goto(address)
        return sheet

    yield opener
    for context in contexts:
        context.close()


@pytest.fixture(scope="module")
def shared_sheet(browser: Browser, folder: Path) -> Iterator[Sheet]:
    """One window at desk width for all tests that need nothing special."""
    page = browser.new_page(viewport=WINDOW)
    yield watched(page, folder.as_uri())
    page.close()


@pytest.fixture
def sheet(shared_sheet: Sheet, folder: Path) -> Iterator[Sheet]:
    """The page freshly opened from disk, nothing remembered; the test fails if it reported any trouble."""
    page = shared_sheet.page
    page.goto(folder.as_uri() + "/index.html")
    if page.evaluate("localStorage.length"):
        page.evaluate("localStorage.clear()")
        page.reload()
    page.emulate_media(media="screen", color_scheme="light")
    shared_sheet.trouble.clear()
    yield shared_sheet
    assert shared_sheet.trouble == []


@pytest.fixture(scope="module")
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

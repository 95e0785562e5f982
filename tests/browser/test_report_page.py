"""The report on a take in a browser: it fits, it plays, it lights, with mouse and keys, light and dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser_sheet import Sheet
from conftest import watched
from playwright.sync_api import Browser, Page
from reported_takes import LATE, lesson_report

from phrasewright.engrave.palette import DARK, LIGHT, Ink, Theme
from phrasewright.engrave.report.page import report_page

pytestmark = pytest.mark.browser

PLAYING = "document.querySelector('.is-playing') !== null"
PAPER = "getComputedStyle(document.body).backgroundColor"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report on disk."""
    path = tmp_path_factory.mktemp("report") / "monday.html"
    path.write_bytes(report_page(lesson_report()))
    return path


@pytest.fixture
def report(browser: Browser, file: Path) -> Iterator[Sheet]:
    """The report opened from disk; the test fails if it reported any trouble or asked for anything outside."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    sheet = watched(page, file.as_uri())
    page.goto(file.as_uri())
    yield sheet
    page.close()
    assert sheet.trouble == []


def lit(page: Page) -> set[str]:
    return set(page.evaluate("[...document.querySelectorAll('[data-note].is-now')].map(one => one.dataset.note)"))


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.id)
def test_it_fits_in_light_and_dark(report: Sheet, width: int, theme: Theme) -> None:
    """No sideways scroll, one of the two engravings, the theme's own paper, all folded parts open."""
    page = report.page
    page.set_viewport_size({"width": width, "height": 844})
    page.emulate_media(color_scheme=theme.id)
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    red, green, blue = (int(theme.colours[Ink.PAPER][at : at + 2], 16) for at in (1, 3, 5))
    assert page.evaluate(PAPER) == f"rgb({red}, {green}, {blue})"
    shown = page.evaluate("[...document.querySelectorAll('.line')].filter(one => one.getClientRects().length).length")
    assert 0 < shown < page.locator(".line").count()


def test_a_note_that_is_clicked_sounds_and_lights(report: Sheet) -> None:
    """It is lit wherever it stands, and its words are said."""
    page = report.page
    page.locator(f".line [data-note='{LATE}']:visible").first.click()
    page.wait_for_function(PLAYING)
    assert lit(page) == {str(LATE)}
    assert "120 ms late" in page.inner_text("#said")
    page.wait_for_function(f"!({PLAYING})")


def test_keys_go_from_note_to_note_and_play(report: Sheet) -> None:
    """Arrows hear a note, space plays and stops, 0 goes back; the cursor moves."""
    page = report.page
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.wait_for_function(PLAYING)
    assert lit(page) == {"1"}
    page.keyboard.press("Space")
    page.wait_for_function(f"!({PLAYING})")
    page.keyboard.press("0")
    page.keyboard.press("Space")
    page.wait_for_function(f"{PLAYING} && document.querySelector('.cursor:not([hidden])') !== null")
    page.keyboard.press("Space")
    page.wait_for_function(f"!({PLAYING})")


def test_enter_on_a_note_of_the_table_hears_it(report: Sheet) -> None:
    """The table has a button for every note, with its words as its name."""
    page = report.page
    page.locator("#notes summary").click()
    button = page.get_by_role("button", name="Hear note 4:")
    assert "late" in (button.get_attribute("aria-label") or "")
    button.focus()
    page.keyboard.press("Enter")
    page.wait_for_function(PLAYING)
    assert lit(page) == {str(LATE)}


def test_a_screen_reader_finds_names(report: Sheet) -> None:
    """One main, one heading 1, every section and figure named, a status line, no empty button."""
    page = report.page
    assert page.locator("main").count() == 1
    assert page.locator("h1").count() == 1
    nameless = page.evaluate("""() => [...document.querySelectorAll('[role=img]:not(svg), [role=region], main section, nav')]
        .filter(one => !(one.getAttribute('aria-label')
            || document.getElementById(one.getAttribute('aria-labelledby'))?.textContent))
        .map(one => one.outerHTML.slice(0, 80))""")
    assert nameless == []
    buttons = page.locator("button:visible").all()
    assert all(button.inner_text().strip() or button.get_attribute("aria-label") for button in buttons)
    assert page.locator("[role=status]").count() == 1

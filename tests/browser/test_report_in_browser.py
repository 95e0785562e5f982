"""The report on a take in a browser: it stands alone, sounds, lights what sounds, by mouse and by keyboard."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path

import pytest
import soundfile
from axe_check import violations
from browser_sheet import Sheet, watched
from playwright.sync_api import Browser

from phrasewright.app.assignment import assignment_of
from phrasewright.app.listening import listen_to, listen_wish
from phrasewright.app.planted_take import planted_take

pytestmark = pytest.mark.browser

OpenReport = Callable[..., Sheet]


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report on a study with slips."""
    folder = tmp_path_factory.mktemp("report")
    lesson = folder / "three.toml"
    lesson.write_bytes(resources.files("phrasewright.lesson").joinpath("demo.toml").read_bytes())
    take = folder / "<i>monday & co.flac"
    soundfile.write(take, planted_take(assignment_of(lesson).plan, 90.0).audio, 44_100)
    wish = listen_wish(lesson, exercise="study-1", tempo_bpm=90.0, alone=True)
    (heard,) = listen_to([take], folder / "heard", wish)
    return next(path for path in heard.written if path.suffix == ".html")


@pytest.fixture
def open_report(browser: Browser, report: Path) -> Iterator[OpenReport]:
    contexts = []

    def opener(**options: object) -> Sheet:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        contexts.append(context)
        sheet = watched(context.new_page(), report.as_uri())
        sheet.page.goto(report.as_uri())
        return sheet

    yield opener
    for context in contexts:
        context.close()


def shown(sheet: Sheet, selector: str) -> int:
    return int(sheet.page.locator(f"{selector}:visible").count())


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_and_is_quiet(open_report: OpenReport, width: int, scheme: str) -> None:
    """No scrolling sideways, nothing asked for outside, one set of figures at a time; names are text, not markup."""
    sheet = open_report(viewport={"width": width, "height": 800}, color_scheme=scheme)
    assert sheet.page.evaluate("document.documentElement.scrollWidth") <= width
    assert sheet.page.inner_text("h1") == "<i>monday & co"
    assert shown(sheet, "#played .is-wide .line") == (0 if width == 390 else 3)
    assert shown(sheet, "#played .is-narrow .line") == (6 if width == 390 else 0)
    paper = sheet.page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert paper == ("rgb(251, 250, 246)" if scheme == "light" else "rgb(20, 24, 31)")
    assert sheet.trouble == []
    assert violations(sheet.page) == [], "WCAG 2.2, A and AA, as far as axe-core can tell"


def test_a_note_is_heard_and_lit(open_report: OpenReport) -> None:
    """Pressing a note plays it, lights it in notation, tablature, wave and pitch, and says it in words."""
    sheet = open_report()
    sheet.page.locator('#played .is-wide g.note[data-note="3"]').first.click()
    sheet.page.wait_for_selector(".desk-row.is-playing")
    lit = sheet.page.locator('[data-note="3"].is-now')
    assert lit.count() >= 4
    assert "bar 1" in sheet.page.inner_text("#said").lower()
    assert "string" in sheet.page.inner_text("#said")
    sheet.page.wait_for_selector(".desk-row:not(.is-playing)")
    assert sheet.trouble == []


def test_the_take_plays_on_with_a_cursor(open_report: OpenReport) -> None:
    """The cursor moves over the line that sounds; stopped, it stays."""
    sheet = open_report()
    sheet.page.keyboard.press("Space")
    sheet.page.wait_for_selector("#played .is-wide .cursor:not([hidden])")
    where = "document.querySelector('#played .is-wide .cursor').style.left"
    first = sheet.page.evaluate(where)
    sheet.page.wait_for_function(f"parseFloat({where}) > parseFloat('{first}') + 1")
    sheet.page.keyboard.press("Space")
    assert sheet.page.inner_text("#play [data-word]") == "Play"
    sheet.page.keyboard.press("0")
    assert sheet.page.inner_text("#time-now") == "0:00"
    assert sheet.trouble == []


def test_notes_are_stepped_through_by_keyboard(open_report: OpenReport) -> None:
    """Arrow keys go from note to note; the place of a finding and every note of the table can be heard."""
    sheet = open_report()
    page = sheet.page
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.wait_for_selector('[data-note="1"].is-now')
    page.keyboard.press("ArrowLeft")
    page.wait_for_selector('[data-note="0"].is-now')
    page.click("[data-from]")
    page.wait_for_selector(".desk-row.is-playing")
    page.click("#notes summary")
    page.click('[data-hear="5"]')
    page.wait_for_selector('[data-note="5"].is-now')
    names = page.eval_on_selector_all("button", "all => all.map(one => one.ariaLabel || one.innerText)")
    assert all(name.strip() for name in names)
    assert sheet.trouble == []


def test_its_sound_is_the_take(open_report: OpenReport) -> None:
    """What the browser decodes begins and ends with the take: its notes sound where the page says they begin."""
    sheet = open_report()
    loudness = sheet.page.evaluate(
        """async () => {
          const take = JSON.parse(document.getElementById("take").textContent);
          const letters = document.getElementById("sound").textContent;
          const bytes = Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0)).buffer;
          const sound = await new OfflineAudioContext(1, 1, 16000).decodeAudioData(bytes);
          const data = sound.getChannelData(0);
          const level = (from, to) => Math.max(...data.slice(from * 16000, to * 16000).map(Math.abs));
          const first = take.notes[0][0];
          const [before, after] = [level(0, first - 0.02), level(first, first + 0.05)];
          return { before, after, length: sound.duration, told: take.length };
        }"""
    )
    assert loudness["after"] > 20 * loudness["before"]
    assert loudness["length"] == pytest.approx(loudness["told"], abs=0.01)

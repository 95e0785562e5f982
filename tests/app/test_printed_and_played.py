"""A pack as its readers meet it: the handout on paper, the page in a browser."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest
from playwright.sync_api import Browser, Page

from phrasewright.app.build import BuildReport

MM_PER_POINT = 25.4 / 72
EDGE_MM = 5.0  # nothing may be printed nearer to the paper's edge: printers cut it
PAPERS = {"handout-a4.pdf": (210.0, 297.0), "handout-letter.pdf": (215.9, 279.4)}
LIT = "[...document.querySelectorAll('.is-now')].map(e => e.id || e.dataset.place || '')"


@pytest.mark.parametrize("name", PAPERS)
def test_the_handout_is_whole(name: str, built: BuildReport) -> None:
    """Every page has the paper's size, ink on it, and none near the edge."""
    pdf = pypdfium2.PdfDocument(built.pack / name)
    scale = 2.0
    for page in pdf:
        size_mm = tuple(round(points * MM_PER_POINT, 1) for points in page.get_size())
        assert size_mm == pytest.approx(PAPERS[name], abs=0.2)
        grey = np.asarray(page.render(scale=scale).to_pil().convert("L"))
        inked = grey < 200
        assert inked.mean() > 0.002
        edge = int(EDGE_MM / MM_PER_POINT * scale)
        frame = inked.copy()
        frame[edge:-edge, edge:-edge] = False
        assert not frame.any()
    pdf.close()


def test_the_handout_says_what_the_lesson_says(built: BuildReport) -> None:
    """Title, the teacher's words, every exercise and the cautions can be read in the text of the PDF."""
    pdf = pypdfium2.PdfDocument(built.pack / "handout-a4.pdf")
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pdf)
    pdf.close()
    for words in ("Two bars of air", "Play little, listen much.", "One motif, then rest", "Study", "clinician"):
        assert words in text


def _open(browser: Browser, built: BuildReport, width: int) -> tuple[Page, list[str]]:
    """The pack's page from disk; and everything it complained of or asked for outside the pack."""
    trouble: list[str] = []
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on("console", lambda line: trouble.append(line.text) if line.type in ("error", "warning") else None)
    page.on(
        "request",
        lambda r: None if r.url.startswith((built.pack.as_uri(), "data:", "blob:")) else trouble.append(r.url),
    )
    page.goto((built.pack / "index.html").as_uri())
    return page, trouble


@pytest.mark.browser
@pytest.mark.parametrize("id_", ["exercise-1", "study-1"])
def test_a_piece_plays_from_disk_and_is_lit(id_: str, browser: Browser, built: BuildReport) -> None:
    """Opened from disk, a piece plays; its first note is lit in notation, tablature and on the neck at once."""
    page, trouble = _open(browser, built, 1280)
    page.click(f'[data-play="{id_}"]')
    page.wait_for_function("document.querySelectorAll('[data-place].is-now').length > 0", timeout=15_000)
    lit = page.evaluate(LIT)
    assert {f"{id_}-wide-n0", f"{id_}-wide-t0"} <= set(lit)
    assert any(one.startswith("neck-degrees-") for one in lit)
    page.close()
    assert trouble == []


@pytest.mark.browser
def test_the_track_plays_from_disk(browser: Browser, built: BuildReport) -> None:
    """The track's own button starts it, and the chart shows the bar."""
    page, trouble = _open(browser, built, 1280)
    page.click('[data-play="track"]')
    page.wait_for_function("document.querySelectorAll('.bar.is-now[data-bar]').length > 0", timeout=15_000)
    page.close()
    assert trouble == []


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_runs_out_of_the_page(width: int, browser: Browser, built: BuildReport) -> None:
    """No sideways scrolling, and every figure and system that is shown has a size and a text."""
    page, trouble = _open(browser, built, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    shown = page.evaluate(
        "[...document.querySelectorAll('[role=img]')].filter(e => e.offsetParent)"
        ".map(e => [e.getAttribute('aria-label'), e.getBoundingClientRect().height, e.getBoundingClientRect().right])"
    )
    assert len(shown) > 10
    assert all(label and height > 20 and right <= width for label, height, right in shown)
    page.close()
    assert trouble == []


@pytest.mark.browser
def test_files_stand_in_even_rows_on_a_phone(browser: Browser, built: BuildReport) -> None:
    """The name of a piece has a line of its own, and its kinds of files share one below."""
    page, trouble = _open(browser, built, 390)
    tops = page.evaluate(
        "[...document.querySelectorAll('.files li')].filter(e => e.querySelector('span.of'))"
        ".map(e => [...e.children].map(one => Math.round(one.getBoundingClientRect().top)))"
    )
    page.close()
    assert len(tops) > 3
    assert all(name < first and len({first, *others}) == 1 for name, first, *others in tops)
    assert trouble == []

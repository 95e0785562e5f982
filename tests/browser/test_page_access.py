"""The page for every reader: small screens, dark rooms, print, screen readers, no mouse."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from axe_check import violations
from browser_sheet import Sheet

from phrasewright.engrave.palette import contrast_ratio

pytestmark = pytest.mark.browser

OpenSheet = Callable[..., Sheet]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}

VISIBLE_TEXT = """() => {
    const seen = new Map();
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
    const hex = (text) => '#' + rgb(text).slice(0, 3).map((v) => Math.round(v).toString(16).padStart(2, '0')).join('');
    const ground = (element) => {
        for (let at = element; at; at = at.parentElement) {
            const colour = getComputedStyle(at).backgroundColor;
            if (rgb(colour)[3] !== 0) return hex(colour);
        }
        return '#ffffff';
    };
    while (walk.nextNode()) {
        const element = walk.currentNode.parentElement;
        if (!walk.currentNode.textContent.trim() || !element.getClientRects().length) continue;
        if (element.closest('svg, script, noscript, option')) continue;
        seen.set(`${hex(getComputedStyle(element).color)} ${ground(element)}`, element.className || element.tagName);
    }
    return [...seen];
}"""

TARGETS = """() => [...document.querySelectorAll('a, button, input, select, summary, [role=slider]')]
    .filter((one) => one.getClientRects().length && !one.closest('.skip, .visually-hidden') && !one.matches('.skip'))
    .map((one) => {
        const box = (one.closest('label') || one).getBoundingClientRect();
        return [one.outerHTML.slice(0, 60), Math.round(box.width), Math.round(box.height)];
    })"""


@pytest.mark.parametrize("open_desk", [False, True], ids=["closed", "open"])
def test_a_phone_needs_no_sideways_scrolling(open_sheet: OpenSheet, open_desk: bool) -> None:
    """At 390 px everything fits the width, and the narrow engraving stands in for the wide one."""
    sheet = open_sheet(**PHONE)
    if open_desk:
        sheet.page.click("[data-more]")
    assert sheet.page.evaluate("document.documentElement.scrollWidth") <= 390
    outside = sheet.page.evaluate(
        "[...document.querySelectorAll('main *, .desk *')].filter(e => e.getClientRects().length"
        " && !e.closest('.visually-hidden, svg') && e.getBoundingClientRect().right > 391).map(e => e.className)"
    )
    assert outside == []
    assert sheet.page.locator(".systems.is-narrow").first.is_visible()
    assert not sheet.page.locator(".systems.is-wide").first.is_visible()
    height = sheet.page.evaluate("document.querySelector('.desk').offsetHeight")
    assert height < (0.86 if open_desk else 0.3) * 844


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_can_be_read(sheet: Sheet, scheme: str) -> None:
    """Every text has a contrast of at least 4.5 to 1 with what it stands on (WCAG 2.2, 1.4.3)."""
    sheet.page.emulate_media(color_scheme=scheme)
    sheet.page.click("[data-more]")
    pairs = sheet.page.evaluate(VISIBLE_TEXT)
    assert len(pairs) >= 3
    for pair, where in pairs:
        ink, paper = pair.split()
        assert contrast_ratio(ink, paper) >= 4.5, f"{where}: {ink} on {paper}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(sheet: Sheet, scheme: str) -> None:
    """WCAG 2.2, A and AA, as far as axe-core can tell, with the bar of controls open."""
    sheet.page.emulate_media(color_scheme=scheme)
    sheet.page.click("[data-more]")
    assert violations(sheet.page) == []


def test_dark_and_light_differ(sheet: Sheet) -> None:
    """The page follows the reader's colour scheme."""
    ground = "getComputedStyle(document.body).backgroundColor"
    light = sheet.page.evaluate(ground)
    sheet.page.emulate_media(color_scheme="dark")
    assert (light, sheet.page.evaluate(ground)) == ("rgb(251, 250, 246)", "rgb(20, 24, 31)")


@pytest.mark.parametrize("options", [{}, PHONE], ids=["desk", "phone"])
def test_targets_are_large_enough(open_sheet: OpenSheet, options: dict[str, object]) -> None:
    """Whatever can be pressed measures at least 24 by 24 px (WCAG 2.2, 2.5.8)."""
    sheet = open_sheet(**options)
    sheet.page.click("[data-more]")
    small = [target for target in sheet.page.evaluate(TARGETS) if min(target[1:]) < 24]
    assert small == []


def test_structure(sheet: Sheet) -> None:
    """Landmarks are there once, headings go down one level at a time, every control and figure has a name."""
    page = sheet.page
    assert page.locator("main").count() == page.locator("h1").count() == page.locator("body > header").count() == 1
    levels = page.eval_on_selector_all("h1, h2, h3, h4", "all => all.map(one => Number(one.tagName[1]))")
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    unnamed = page.evaluate(
        "[...document.querySelectorAll('input, select, button')].filter(e => !(e.labels && e.labels.length)"
        " && !e.getAttribute('aria-label') && !e.textContent.trim()).map(e => e.outerHTML)"
    )
    assert unnamed == []
    silent = page.evaluate(
        "[...document.querySelectorAll('main svg')].filter(e => !e.closest('[role=img][aria-label]')).length"
    )
    assert silent == 0
    ids = page.eval_on_selector_all("[id]", "all => all.map(one => one.id)")
    assert len(ids) == len(set(ids))


def test_state_is_spoken_once(sheet: Sheet) -> None:
    """A screen reader hears that it plays and that it stopped, and nothing in between."""
    page = sheet.page
    page.evaluate(
        "window.heard = []; new MutationObserver(() => heard.push(say.textContent))"
        ".observe(say, { childList: true, characterData: true, subtree: true })"
    )
    sheet.play("ex-1")
    page.wait_for_function("document.querySelector('.desk-beats .is-now')")
    page.wait_for_timeout(700)
    page.keyboard.press("Space")
    assert page.evaluate("heard") == ["Playing One motif, much rest at 120 beats a minute.", "Stopped."]


def test_focus_can_be_seen(sheet: Sheet) -> None:
    """Moving with the Tab key shows where one is; the first stops are the ways past the header."""
    page = sheet.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the lesson"
    page.focus('[data-play="ex-1"]')
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    outline = "(({ outlineStyle, outlineWidth }) => [outlineStyle, outlineWidth])"
    assert page.evaluate(f"{outline}(getComputedStyle(document.activeElement))") == ["solid", "3px"]


def test_lit_is_more_than_a_colour(sheet: Sheet) -> None:
    """What sounds also changes shape: a halo on the neck, thicker ink in the notes, a pointer in the margin."""
    page = sheet.page
    page.evaluate(
        "for (const s of ['[data-place]', '.system [id^=ex-1-n]', '.pencil[data-from-bar]'])"
        " document.querySelector(s).classList.add('is-now')"
    )
    style = "(selector, name, pseudo) => getComputedStyle(document.querySelector(selector), pseudo)[name]"
    assert page.evaluate(f"({style})('[data-place].is-now .halo', 'stroke')") != "none"
    assert page.evaluate(f"({style})('.system .is-now ellipse', 'strokeWidth')") != "1px"
    assert page.evaluate(f"({style})('.pencil.is-now .pencil-at', 'content', '::before')") == '"▸ "'


def test_print_is_a_clean_sheet(sheet: Sheet) -> None:
    """In print there is no player and no navigation, the wide engraving, and every view of the neck."""
    page = sheet.page
    page.emulate_media(media="print", color_scheme="dark")
    for gone in (".desk", ".order", ".play", ".choice"):
        assert not page.locator(gone).first.is_visible()
    assert page.locator(".systems.is-wide").first.is_visible()
    assert page.locator(".neck [data-view]:visible").count() == page.locator(".neck [data-view]").count()
    assert page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--ink').trim()") == "#1b2a41"


def test_without_scripts_it_is_still_a_sheet(open_sheet: OpenSheet) -> None:
    """With scripts switched off everything to read is there, the player stays away, and the page says why."""
    sheet = open_sheet(java_script_enabled=False)
    assert not sheet.page.locator(".desk").is_visible()
    assert sheet.page.locator("noscript").is_visible()
    assert sheet.page.locator(".neck [data-view]").last.is_visible()

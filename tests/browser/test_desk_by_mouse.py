"""The teacher's desk with the mouse: a lesson from nothing, every deed seen in the file, all of it undone."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from axe_check import violations
from desk_driver import Desk, make_lesson, open_page
from desk_server import Served, served
from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(tmp_path_factory.mktemp("lessons")) as found:
        yield found


@pytest.fixture
def desk(browser: Browser, studio: Served) -> Iterator[Desk]:
    found = open_page(browser, studio.url)
    make_lesson(found)
    yield found
    assert found.errors == []
    found.page.context.close()


def file_of(studio: Served, desk: Desk) -> dict[str, Any]:
    path = studio.studio.lessons.files.places().get(desk.lesson_id)
    assert path is not None
    return tomllib.loads(path.read_text(encoding="utf-8"))


def place(desk: Desk, number: int) -> str:
    """A place of the position, low to high."""
    return str(desk.view()["plan"]["neck"]["position"][number]["place"])


def first_phrases(view: dict[str, Any]) -> list[tuple[int, str, str]]:
    """Bar, letter and count of the phrases of the first four bars."""
    reasons = view["plan"]["studies"][0]["reasons"]
    return [(one["first_bar"], one["letter"], one["count"]) for one in reasons if one["last_bar"] <= 4]


def test_a_lesson_is_made_from_nothing_and_all_of_it_undone(desk: Desk, studio: Served) -> None:
    page = desk.page
    start = studio.studio.lessons.files.places().get(desk.lesson_id)
    assert start is not None
    text = start.read_text(encoding="utf-8")
    page.locator("live-neck .hand").scroll_into_view_if_needed()
    box = page.locator("live-neck .hand").bounding_box()
    assert box is not None
    before = desk.view()["plan"]["neck"]["fret"]
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 8)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 - 170, box["y"] + 8, steps=4)
    page.mouse.up()
    view = desk.until(lambda one: one["undo"].startswith("move the hand"))
    assert view["plan"]["neck"]["fret"] < before

    page.locator("text=use or leave out").click()
    page.locator(f'.place[data-place="{place(desk, 0)}"]').click()
    assert desk.until(lambda one: one["undo"].startswith("leave out"))["plan"]["neck"]["dropped"]
    desk.rest()

    page.locator("live-neck >> text=take for a motif").click()
    drawn = [place(desk, number) for number in (1, 2, 3)]
    for one in drawn:
        page.locator(f'.place[data-place="{one}"]').click()
    page.fill("#drawn-name", "up the stairs")
    page.locator(".taking >> text=Put on the shelf").click()
    view = desk.until(lambda one: one["undo"] == "draw a motif")
    assert view["plan"]["motifs"][0]["places"] == drawn
    assert view["plan"]["motifs"][0]["name"] == "up the stairs"
    assert len(view["plan"]["motifs"]) == 6, "the chosen ones stay beside it"
    desk.rest()

    second = view["plan"]["motifs"][1]
    page.get_by_role("button", name="Pin motif B").click()
    view = desk.until(lambda one: one["undo"] == "pin motif B")
    assert second["places"] in [motif["places"] for motif in view["plan"]["motifs"] if motif["written"] is not None]
    desk.rest()
    unwanted = view["plan"]["motifs"][-1]
    page.get_by_role("button", name=f"Leave out motif {unwanted['letter']}").click()
    view = desk.until(lambda one: one["undo"].startswith("leave out motif"))
    assert unwanted["places"] not in [motif["places"] for motif in view["plan"]["motifs"]]
    page.locator(".left-out >> text=Allow again").click()
    view = desk.until(lambda one: one["undo"].startswith("allow"))
    assert unwanted["places"] in [motif["places"] for motif in view["plan"]["motifs"]]

    page.fill("#own-count", "1 - 3 4")
    page.locator("count-list >> text=Add").click()
    desk.until(lambda one: one["undo"] == "count 1 - 3 4")
    desk.rest()

    desk.fill("band.chart", "| Em7 | A7 | Em7 | B7 |\n| Em7 | A7 | Em7 | B7 |")
    page.select_option('[data-path="band.groove"]', "swing")
    desk.until(lambda one: one["values"]["band"]["groove"] == "swing")
    desk.fill("band.tempos", "70, 95")
    page.locator('[data-path="rhythm.space"]').fill("0.5")
    desk.until(lambda one: one["values"]["rhythm"]["space"] == 0.5)
    page.locator('[data-path="study.dial"]').fill("0.2")
    desk.until(lambda one: one["values"]["study"]["dial"] == 0.2)
    page.locator("summary:text-is('Rules')").click()
    page.locator('[data-path="study.question_and_answer"]').check()
    view = desk.until(lambda one: one["values"]["study"]["question_and_answer"] is True)
    assert any("answers" in rule for rule in view["plan"]["studies"][0]["rules"])
    desk.rest()

    kept = first_phrases(view)
    for bar in range(1, 5):
        page.locator(f'[data-key="keep study-1 {bar}"]').check()
    page.get_by_role("button", name="Draw the other bars anew").click()
    view = desk.until(lambda one: one["undo"] == "draw bars anew")
    assert first_phrases(view) == kept
    assert view["values"]["study"]["again"] == ["bars 5-8"]
    desk.rest()
    assert page.locator(".study .system svg").count() >= 2
    assert file_of(studio, desk)["band"]["tempos"] == [70, 95]

    undo = page.locator('[data-do="undo"]')
    while undo.is_enabled():
        undo.click()
        desk.rest()
    assert start.read_text(encoding="utf-8") == text
    redo = page.locator('[data-do="redo"]')
    while redo.is_enabled():
        redo.click()
        desk.rest()
    assert desk.view()["values"] == view["values"]


def test_a_note_a_motif_and_a_study_are_heard_and_lit(desk: Desk) -> None:
    page = desk.page
    page.locator(f'.place[data-place="{place(desk, 0)}"]').click()
    page.wait_for_selector("live-neck .place.is-now")
    page.get_by_role("button", name="Hear motif A").click()
    page.wait_for_selector(".motif.is-playing [data-note].is-now, .motif.is-playing .is-now", timeout=15_000)
    page.keyboard.press("Escape")
    page.wait_for_selector(".motif:not(.is-playing)")
    page.get_by_role("button", name="Hear Study").click()
    page.wait_for_selector(".study.is-playing .system .is-now", timeout=15_000)
    page.wait_for_selector("live-neck .place.is-now")
    page.locator('[data-do="stop"]').click()
    assert page.locator(".is-playing").count() == 0


def test_what_is_wrong_is_told_where_it_is_and_the_file_stays_good(desk: Desk, studio: Served) -> None:
    page = desk.page
    before = file_of(studio, desk)
    page.locator('[data-path="band.chart"]').fill("| Em7 | H7 |")
    wrong = page.locator('[data-wrong="band.chart"]')
    wrong.wait_for(state="visible")
    assert "H7" in wrong.inner_text()
    assert "Write B" in wrong.inner_text()
    wrong.locator("text=Show me").click()
    chosen = page.evaluate(
        "(f => f.value.slice(f.selectionStart, f.selectionEnd))(document.querySelector('#band-chart'))"
    )
    assert chosen == "H7"
    page.locator('[data-path="band.chart"]').blur()
    assert desk.until(lambda one: one["problems"])["plan_is_old"]
    desk.rest()
    assert "One thing to mend" in page.locator('[data-show="state"]').inner_text()
    assert file_of(studio, desk) == before, "the file can still be built"
    assert violations(page) == []
    desk.fill("band.tempos", "fast")
    assert "not a number" in page.locator('[data-wrong="band.tempos"]').inner_text()
    desk.fill("band.chart", "| Em7 | B7 |")
    assert desk.until(lambda one: not one["problems"])["plan"]["chart"]["bars"] == 2
    assert page.locator('[data-wrong="band.chart"]').is_hidden()
    assert file_of(studio, desk)["band"]["chart"] == "| Em7 | B7 |"


BROKEN = """\
[lesson]
title = "Ebb"
[scale]
root = "E"
[position
style = "open"
"""


def test_a_file_that_cannot_be_read_is_told_above_all_and_mended_in_its_text(browser: Browser, studio: Served) -> None:
    (studio.studio.folder / "ebb.toml").write_text(BROKEN, encoding="utf-8")
    desk = open_page(browser, studio.url)
    page = desk.page
    page.click(".entries a:has-text('ebb')")
    page.wait_for_url("**/desk/*/")
    page.wait_for_selector("html.is-ready")
    wrong = page.locator("#wrong-whole")
    assert wrong.inner_text().startswith("Line 5 of the file: This section name has no closing bracket.")
    assert "before that nothing can be drawn or heard" in page.locator('[data-show="state"]').inner_text()
    assert page.locator("#build-pack").is_disabled()
    assert violations(page) == []
    wrong.locator("text=Show me").click()
    desk.wait("document.activeElement.id === 'whole-text'")
    chosen = "(area => area.value.slice(area.selectionStart, area.selectionEnd))(document.querySelector('#whole-text'))"
    assert page.evaluate(chosen) == "[position"
    page.fill("#whole-text", BROKEN.replace("[position\n", "[position]\n"))
    page.click("text=Save the text")
    assert desk.until(lambda one: not one["problems"])["title"] == "Ebb"
    page.wait_for_selector(".study .systems svg")
    assert wrong.is_hidden()
    assert page.locator("h1").inner_text() == "Ebb"
    assert desk.errors == []
    page.context.close()


def test_a_reload_in_the_middle_of_an_edit_loses_nothing(desk: Desk) -> None:
    page = desk.page
    desk.fill("lesson.teacher", "Ines Moreau")
    page.locator('[data-path="lesson.words"]').fill("Breathe between the phrases")
    page.reload()
    page.wait_for_selector("html.is-ready")
    assert page.locator('[data-path="lesson.words"]').input_value() == "Breathe between the phrases"
    assert page.locator('[data-path="lesson.teacher"]').input_value() == "Ines Moreau"
    assert "back in its field" in page.locator("#notices").inner_text()
    page.locator('[data-path="lesson.words"]').focus()
    page.locator('[data-path="lesson.words"]').blur()
    desk.until(lambda one: one["values"]["lesson"]["words"] == "Breathe between the phrases")


def test_of_two_windows_the_second_is_told_and_nothing_is_overwritten(desk: Desk, browser: Browser) -> None:
    other = open_page(browser, desk.url, f"/desk/{desk.lesson_id}/")
    desk.page.route("**/revision", lambda route: route.abort())
    desk.page.reload()
    desk.page.wait_for_selector("html.is-ready")
    desk.fill("band.choruses", "3")
    other.wait("document.querySelector('[data-path=\"band.choruses\"]').value === '3'")
    assert "Changed in another window" in other.page.locator("#notices").inner_text()
    other.fill("band.choruses", "4")
    desk.fill("lesson.teacher", "Somebody")  # this window has heard of nothing
    desk.page.wait_for_selector("#notices .is-refusal")
    assert desk.view()["values"]["band"]["choruses"] == 4
    assert desk.view()["values"]["lesson"]["teacher"] == ""
    assert "was not made" in desk.page.locator("#notices").inner_text()
    desk.page.locator("text=Make it now").click()
    view = desk.until(lambda one: one["values"]["lesson"]["teacher"] == "Somebody")
    assert view["values"]["band"]["choruses"] == 4
    assert other.errors == []
    other.page.context.close()


def test_lessons_are_copied_renamed_removed_and_brought_back(browser: Browser, studio: Served) -> None:
    listed = open_page(browser, studio.url)
    page = listed.page
    make_lesson(listed, "Evening air <b>")
    page.goto(studio.url)
    page.wait_for_selector("html.is-ready")
    titles = lambda: page.locator("lesson-list a.named").all_inner_texts()  # noqa: E731
    page.get_by_role("button", name="Copy Evening air <b>", exact=True).click()
    page.wait_for_selector("text=Evening air <b> (copy)")
    page.get_by_role("button", name="Rename Evening air <b> (copy)").click()
    page.locator("#renamed").fill("Morning air")
    page.keyboard.press("Enter")
    page.wait_for_selector("a:has-text('Morning air')")
    page.get_by_role("button", name="Remove Evening air <b>", exact=True).click()
    listed.wait("!document.querySelector('lesson-list').innerText.includes('Evening air')")
    assert (studio.studio.folder / "morning-air.toml").is_file()
    assert not (studio.studio.folder / "evening-air-b.toml").exists()
    for words in ("Evening air <b>", "Evening air <b> (copy)"):
        page.locator('[data-do="undo"]').click()
        page.wait_for_selector(f"a:text-is('{words}')")
    page.locator('[data-do="undo"]').click()
    listed.wait("!document.querySelector('lesson-list').innerText.includes('(copy)')")
    assert "Evening air <b>" in titles()
    assert listed.errors == []
    page.context.close()

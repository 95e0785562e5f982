"""Sign-in, students and links as people meet them: a real browser on a real port."""

from __future__ import annotations

import http.server
import re
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from served import running
from studio_clients import PASSWORD, Class, shared_class

from phrasewright.course.people import students
from phrasewright.engrave.palette import contrast_ratio
from phrasewright.web.application import create_application
from phrasewright.web.guard import cookies
from phrasewright.web.serving import server_for

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}

TEXT_COLOURS = """() => {
    const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
    const hex = (text) => '#' + rgb(text).slice(0, 3).map((v) => v.toString(16).padStart(2, '0')).join('');
    const ground = (element) => {
        for (let at = element; at; at = at.parentElement) {
            const colour = getComputedStyle(at).backgroundColor;
            if (rgb(colour)[3] !== 0) return hex(colour);
        }
        return '#ffffff';
    };
    const speaks = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    return [...document.querySelectorAll('body *')]
        .filter((one) => one.getClientRects().length && speaks(one))
        .map((one) => [hex(getComputedStyle(one).color), ground(one), one.outerHTML.slice(0, 60)]);
}"""
SMALL_TARGETS = """() => [...document.querySelectorAll('a, button, input, summary')]
    .filter((one) => one.getClientRects().length && !one.closest('.skip, p'))
    .filter((one) => { const box = one.getBoundingClientRect(); return box.width < 24 || box.height < 24; })
    .map((one) => one.outerHTML.slice(0, 80))"""


@dataclass
class Place:
    """A shared studio on a port, and windows on it that note what goes wrong in them."""

    school: Class
    home: str
    browser: Browser
    contexts: list[BrowserContext] = field(default_factory=list)
    troubles: list[str] = field(default_factory=list)

    def window(self, **options: object) -> Page:
        context = self.browser.new_context(**options)  # type: ignore[arg-type]
        self.contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: self.troubles.append(str(error)))
        page.on("console", lambda said: self.troubles.append(said.text) if said.type in ("error", "warning") else None)
        return page

    def teacher(self, **options: object) -> Page:
        page = self.window(**options)
        page.goto(f"{self.home}/sign-in?next=/students")
        expect(page.get_by_label("Password of the teacher")).to_be_focused()
        page.keyboard.type(PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url(f"{self.home}/students")
        return page


@pytest.fixture
def place(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    school = shared_class(tmp_path_factory.mktemp("school"))
    with running(server_for(school.application, host="127.0.0.1", port=0)) as port:
        made = Place(school, f"http://127.0.0.1:{port}", browser)
        yield made
        for context in made.contexts:
            context.close()


@pytest.fixture
def elsewhere() -> Iterator[Callable[[str], str]]:
    """Another site: a page of any content, by another name than the studio's."""
    content = {"page": ""}

    class Page(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(content["page"].encode())

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Page)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()

    def show(page: str) -> str:
        content["page"] = page
        return f"http://localhost:{server.server_port}/"

    yield show
    server.shutdown()
    server.server_close()
    thread.join()


def test_a_student_comes_in_by_the_link_a_teacher_made(place: Place) -> None:
    """With the keyboard alone: sign in, add a student, make a link; in another browser it opens, with one button."""
    teacher = place.teacher()
    teacher.get_by_label("Name of a new student").focus()
    teacher.keyboard.type("Maya")
    teacher.keyboard.press("Enter")
    teacher.get_by_role("button", name="New link (Maya)").focus()
    teacher.keyboard.press("Enter")
    expect(teacher.get_by_role("heading", level=1)).to_have_text("A link for Maya")
    student = place.window()
    student.goto(teacher.locator(".link-to-give").inner_text())
    expect(student.get_by_role("heading", level=1)).to_have_text("You are Maya")
    student.keyboard.press("Enter")
    student.wait_for_url(f"{place.home}/")
    assert {cookies.SESSION, cookies.GUEST} == {one["name"] for one in student.context.cookies()}  # type: ignore[typeddict-item]
    assert student.evaluate("document.cookie") == ""
    expect(student.locator(".mast")).to_contain_text("Maya")
    expect(student.locator(".mast")).not_to_contain_text("Students")


def test_a_removal_is_undone(place: Place) -> None:
    """Renamed, removed, taken back, each with a button; what was done is said."""
    place.school.new_student("Ben")
    teacher = place.teacher()
    teacher.get_by_text("Change", exact=False).first.click()
    teacher.get_by_label("Name", exact=True).fill("Benjamin")
    teacher.get_by_role("button", name="Rename").click()
    expect(teacher.locator(".named")).to_have_text("Benjamin")
    teacher.get_by_text("Change", exact=False).first.click()
    teacher.get_by_role("button", name="Remove").click()
    expect(teacher.get_by_role("status")).to_contain_text("Benjamin was removed.")
    teacher.get_by_role("button", name="Undo").click()
    expect(teacher.locator(".entries .named")).to_have_text("Benjamin")
    expect(teacher.get_by_role("heading", name="Removed")).to_have_count(0)
    assert place.troubles == []


@pytest.mark.parametrize("is_shared", [True, False], ids=["shared", "local"])
def test_another_site_can_do_nothing(place: Place, elsewhere: Callable[[str], str], is_shared: bool) -> None:
    """A form that submits itself, a script that asks with all cookies, and a frame: all in vain.

    The session's cookie is planted here as one that the browser does send along, so that it is not what protects.
    """
    application = place.school.application if is_shared else create_application(place.school.studio)
    with running(server_for(application, host="127.0.0.1", port=0)) as port:
        home = f"http://127.0.0.1:{port}"
        page = place.window()
        if is_shared:
            page.context.add_cookies([{"name": cookies.SESSION, "value": place.school.new_session(), "url": home}])
        page.goto(f"{home}/students")
        expect(page.get_by_role("heading", level=1)).to_have_text("Students")
        form = f'<form method="post" action="{home}/students"><input name="name" value="Eve"></form>'
        page.goto(elsewhere(form + "<script>document.forms[0].submit()</script>"))
        expect(page.get_by_role("heading", level=1)).to_have_text("This is not open to you")
        page.goto(elsewhere(f'<iframe src="{home}/students"></iframe>'))
        assert "Students" not in page.frames[1].locator("body").inner_text()
        send = "a => fetch(a, {credentials: 'include', mode: 'no-cors', method: 'POST'}).then(r => r.type, () => 'no')"
        assert page.evaluate(send, f"{home}/students") in ("opaque", "no")
        read = "a => fetch(a, {credentials: 'include'}).then(r => r.text(), () => 'no')"
        assert page.evaluate(read, f"{home}/api/students") == "no"
    assert students(place.school.studio.engine) == ()


def test_a_link_from_elsewhere_finds_the_session(place: Place, elsewhere: Callable[[str], str]) -> None:
    """Followed from another site, a signed-in teacher's link opens its page and not the sign-in page."""
    teacher = place.teacher()
    teacher.goto(elsewhere(f'<a href="{place.home}/students">the list</a>'))
    teacher.click("a")
    expect(teacher.get_by_role("heading", level=1)).to_have_text("Students")
    assert teacher.url == f"{place.home}/students"


def test_no_script_in_a_page_runs(place: Place) -> None:
    """If markup ever came through, the policy would still keep its scripts from running."""
    teacher = place.teacher()
    teacher.evaluate(
        "() => { const script = document.createElement('script'); script.textContent = 'window.ran = true';"
        " document.body.append(script);"
        " document.body.insertAdjacentHTML('beforeend', '<img src=\"x:\" onerror=\"window.ran = true\">'); }"
    )
    teacher.wait_for_timeout(100)
    assert teacher.evaluate("window.ran") is None
    assert any("Content Security Policy" in trouble for trouble in place.troubles)


def test_pages_suit_a_phone_and_both_lights(place: Place) -> None:
    """At 390 px there is no sideways scrolling, targets are large, words stand out (WCAG 2.2: 1.4.3, 2.5.8)."""
    place.school.new_student("Maximiliane-Charlotte von Hohenstein-Wackernagel und zu Au")
    teacher, stranger = place.teacher(**PHONE), place.window(**PHONE)
    stranger.goto(f"{place.home}/sign-in")
    _suits(stranger)
    teacher.get_by_role("button", name=re.compile("New link")).click()
    expect(teacher.locator(".link-to-give")).to_be_visible()
    stranger.goto(teacher.locator(".link-to-give").inner_text())
    for page in (teacher, stranger):
        _suits(page)
    teacher.goto(f"{place.home}/students")
    teacher.get_by_text("Change", exact=False).first.click()
    _suits(teacher)
    teacher.goto(f"{place.home}/nothing-here")
    _suits(teacher)


def _suits(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(SMALL_TARGETS) == []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for ink, ground, where in page.evaluate(TEXT_COLOURS):
            assert contrast_ratio(ink, ground) >= 4.5, (scheme, where)
    assert page.locator("h1").count() == 1
    assert page.locator("main").count() == 1

"""The lessons over the web: typed answers, refusals in words, one lesson never written over another's change."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from phrasewright.web.application import create_application
from phrasewright.web.desk_form import ELSEWHERE, LABELS, Kind, fields
from phrasewright.web.studio import open_studio


class Teacher:
    """A browser on this computer, with the token of its page."""

    def __init__(self, folder: Path) -> None:
        application = create_application(open_studio(folder))
        self.client = TestClient(application, base_url="http://127.0.0.1:8642")
        page = self.client.get("/")
        token = re.search(r'phrasewright-token" content="([^"]+)', page.text)
        assert token is not None
        self.headers = {"X-Phrasewright-Token": token[1]}

    def ask(self, method: str, path: str, body: object = None, status: int = 200) -> Any:
        answer = self.client.request(method, path, json=body, headers=self.headers)
        assert answer.status_code == status, answer.text
        return answer.json()


@pytest.fixture
def teacher(tmp_path: Path) -> Iterator[Teacher]:
    found = Teacher(tmp_path)
    yield found
    found.client.close()


@pytest.fixture
def lesson(teacher: Teacher) -> str:
    made = teacher.ask("POST", "/api/lessons", {"title": "Air", "root": "E", "style": "open"}, status=201)
    return f"/api/lessons/{made['id']}"


def test_a_lesson_is_changed_undone_and_done_again(teacher: Teacher, lesson: str) -> None:
    change = {"revision": 1, "words": "tempo", "changes": [{"path": ["band", "tempos"], "value": [66, 88.5]}]}
    view = teacher.ask("POST", f"{lesson}/changes", change)
    assert (view["revision"], view["undo"], view["values"]["band"]["tempos"]) == (2, "tempo", [66, 88.5])
    assert view["plan"]["tempos"] == [66.0, 88.5]
    assert "tempos = [66, 88.5]" in teacher.ask("GET", f"{lesson}/text")["text"]
    assert teacher.ask("POST", f"{lesson}/undo", {"revision": 2})["redo"] == "tempo"
    assert teacher.ask("POST", f"{lesson}/redo", {"revision": 3})["values"]["band"]["tempos"] == [66, 88.5]


def test_an_old_revision_is_refused(teacher: Teacher, lesson: str) -> None:
    teacher.ask("POST", f"{lesson}/motifs/pin", {"revision": 1, "letter": "A"})
    for what, body in (("motifs/pin", {"letter": "B"}), ("undo", {}), ("studies/again", {"study": 1, "bars": [1, 2]})):
        refusal = teacher.ask("POST", f"{lesson}/{what}", {"revision": 1, **body}, status=409)
        assert "another window" in refusal["message"]
    text = {"revision": 1, "text": ""}
    teacher.ask("PUT", f"{lesson}/text", text, status=409)


@pytest.mark.parametrize(
    ("what", "body"),
    [
        ("changes", {"words": "x", "changes": [{"path": ["band", "loudness"], "value": 1}]}),
        ("changes", {"words": "x", "changes": [{"path": ["..", "band"], "value": 1}]}),
        ("changes", {"words": "x", "changes": []}),
        ("changes", {"words": "x", "changes": [{"path": ["band", "tempos"], "value": [[1]]}]}),
        ("motifs/pin", {"letter": "Z"}),
        ("motifs/pin", {"letter": "../A"}),
        ("motifs/allow", {"text": "nothing"}),
        ("motifs/draw", {"places": ["1-0"]}),
        ("motifs/draw", {"places": ["12-99", "1-0"]}),
        ("studies/again", {"study": 9, "bars": [1]}),
        ("studies/again", {"study": 1, "bars": [0]}),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(
    teacher: Teacher, lesson: str, what: str, body: dict[str, Any]
) -> None:
    refusal = teacher.ask("POST", f"{lesson}/{what}", {"revision": 1, **body}, status=422)
    assert refusal["message"]
    assert teacher.ask("GET", lesson)["revision"] == 1


@pytest.mark.parametrize(
    "font", ["/etc/passwd", "../secret.sf2", "fonts/../../x.sf2", "C:\\x.sf2", "~/x.sf2", "a\x00b"]
)
def test_files_elsewhere_are_not_asked_for(teacher: Teacher, lesson: str, font: str) -> None:
    """No key of a lesson leads a request out of the folder, by a change, a check or the whole text."""
    change = {"changes": [{"path": ["band", "soundfont"], "value": font}]}
    for what, body in (("check", change), ("changes", {"revision": 1, "words": "sound", **change})):
        assert "lies elsewhere" in teacher.ask("POST", f"{lesson}/{what}", body, status=422)["message"]
    text = f'[lesson]\ntitle = "x"\n[band]\nsoundfont = {json.dumps(font)}\n'
    refusal = teacher.ask("PUT", f"{lesson}/text", {"revision": 1, "text": text}, status=422)
    assert "lies elsewhere" in refusal["message"]
    assert teacher.ask("GET", lesson)["revision"] == 1


def test_what_is_typed_is_checked_and_not_saved(teacher: Teacher, lesson: str) -> None:
    body = {"changes": [{"path": ["band", "chart"], "value": "| Em7 | Hm |"}]}
    (problem,) = teacher.ask("POST", f"{lesson}/check", body)["problems"]
    assert (problem["path"], problem["at"]) == (["band", "chart"], 8)
    good = teacher.ask("POST", f"{lesson}/check", {"changes": [{"path": ["band", "chart"], "value": "| C7 |"}]})
    assert good["plan"]["chart"]["chords"][0]["name"] == "C7"
    assert teacher.ask("GET", lesson)["revision"] == 1


def test_a_lesson_with_mistakes_shows_what_it_was(teacher: Teacher, lesson: str) -> None:
    text = teacher.ask("GET", f"{lesson}/text")["text"]
    for wrong in ("[lesson\n", text.replace('root = "E"', 'root = "H"')):
        revision = teacher.ask("GET", lesson)["revision"]
        view = teacher.ask("PUT", f"{lesson}/text", {"revision": revision, "text": wrong})
        assert view["plan_is_old"]
        assert view["problems"]
        assert not view["saved"]
        assert teacher.ask("GET", f"{lesson}/pieces/study-1")["systems"]


def test_pieces_are_engraved_for_both_sheets(teacher: Teacher, lesson: str) -> None:
    wide, narrow = (teacher.ask("GET", f"{lesson}/pieces/study-1?sheet={sheet}") for sheet in ("wide", "narrow"))
    assert len(narrow["systems"]) > len(wide["systems"])
    assert wide["systems"][0]["svg"].startswith("<svg")
    teacher.ask("GET", f"{lesson}/pieces/study-9", status=404)


def test_a_lesson_needs_a_title_and_known_words(teacher: Teacher) -> None:
    for wrong in ({"title": "   "}, {"title": "a\x00b"}, {"title": "x", "root": "H"}, {"title": "x", "scale": "none"}):
        assert teacher.ask("POST", "/api/lessons", wrong, status=422)["message"]
    assert teacher.ask("GET", "/api/lessons") == {"lessons": [], "undo": "", "redo": ""}


def test_a_script_in_a_title_stays_words(teacher: Teacher) -> None:
    title = "<script>alert(1)</script>"
    made = teacher.ask("POST", "/api/lessons", {"title": title}, status=201)
    page = teacher.client.get(f"/desk/{made['id']}/").text
    assert title not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_every_key_of_the_file_has_its_control(teacher: Teacher, lesson: str) -> None:
    page = teacher.client.get(lesson.replace("/api/lessons", "/desk") + "/").text
    for path, field in fields().items():
        assert f'data-path="{path}"' in page, path
        assert LABELS[path] in page
        assert field.options or field.kind not in (Kind.CHOICE, Kind.CHOICES)
    assert set(LABELS) == set(fields()) - ELSEWHERE

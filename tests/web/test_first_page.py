"""The first page: a student finds the lessons that were handed out, and nothing of the teacher's."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from pack_by_hand import write_pack
from studio_clients import shared_class
from studio_server import LESSON_ID, lesson_in

from phrasewright.web.page_models import PageModel


def test_a_student_finds_what_was_handed_out(tmp_path: Path) -> None:
    lesson_in(tmp_path)
    lesson_in(tmp_path, name="other", lesson_id="8" * 12)
    school = shared_class(tmp_path)
    maya = school.student(school.new_student("Maya"))
    assert "Nothing has been handed out yet" in maya.get("/").text
    write_pack(tmp_path)
    page = maya.get("/").text
    assert f'href="/room/{LESSON_ID}/"' in page
    assert "0 takes of yours" in page
    assert "8" * 12 not in page, "a lesson without a pack is the teacher's alone"
    assert "A new lesson" not in page
    assert maya.get(f"/desk/{LESSON_ID}/").status_code == 403
    assert maya.get("/api/lessons").status_code == 403
    assert maya.get(f"/api/lessons/{LESSON_ID}").status_code == 403
    assert "A new lesson" in school.teacher().get("/").text


def test_every_template_has_its_model_and_every_model_its_template() -> None:
    """Page data is typed: no template is rendered from loose values."""
    models = {model.template for model in PageModel.__subclasses__()}
    folder = resources.files("phrasewright.web").joinpath("templates")
    parts = {"base.html", "fields.html"}  # what pages are built on
    assert {found.name for found in folder.iterdir()} - parts == models

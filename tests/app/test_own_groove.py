"""A teacher's own groove file, named in a lesson or on the command line."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from phrasewright.app.planning import plan_source
from phrasewright.app.source import read_source
from phrasewright.app.stages import plan_stages
from phrasewright.app.track import TrackWish, groove_of
from phrasewright.band.groove import GROOVES
from phrasewright.errors import LessonError, PhrasewrightError
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.write import write_lesson

LESSON = '[lesson]\ntitle = "x"\n[scale]\nroot = "A"\n[band]\ngroove = "harbour.toml"\n'


def own_text() -> str:
    ready = resources.files("phrasewright.band").joinpath("grooves", "shuffle.toml").read_text(encoding="utf-8")
    return ready.replace('name = "shuffle"', 'name = "harbour shuffle"', 1)


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    (tmp_path / "air.toml").write_text(LESSON, encoding="utf-8")
    (tmp_path / "harbour.toml").write_text(own_text(), encoding="utf-8")
    return tmp_path / "air.toml"


def test_a_lesson_plays_its_own_groove(lesson: Path) -> None:
    """The groove beside the lesson is the one that plays, and the lesson written again names it still."""
    source = read_source(lesson)
    plan = plan_source(source)
    assert plan.lesson.groove.name == "harbour shuffle"
    again = read_lesson(write_lesson(plan.lesson), "air.toml", grooves=source.grooves)
    assert again == plan.lesson


def test_a_changed_groove_is_a_changed_lesson(lesson: Path) -> None:
    """Audio is made again when the groove file changes, figures are not."""
    before = read_source(lesson)
    (lesson.parent / "harbour.toml").write_text(own_text().replace("2.2", "1.9"), encoding="utf-8")
    after = read_source(lesson)
    assert before.sha256 != after.sha256
    old, new = ({stage.name: stage.key for stage in plan_stages(one).stages} for one in (before, after))
    assert old["audio at 60"] != new["audio at 60"]
    assert old["figures"] == new["figures"]


@pytest.mark.parametrize("name", ["gone.toml", "../harbour.toml", "sub/harbour.toml"])
def test_a_groove_lies_beside_the_lesson(lesson: Path, name: str) -> None:
    """Another folder is not looked into."""
    lesson.write_text(LESSON.replace("harbour.toml", name), encoding="utf-8")
    with pytest.raises(LessonError) as caught:
        plan_source(read_source(lesson))
    assert "no groove file" in str(caught.value)


def test_mistakes_in_the_groove_are_told_with_the_lesson(lesson: Path) -> None:
    """Each of them, with its place in the groove file."""
    (lesson.parent / "harbour.toml").write_text("name = 3\n", encoding="utf-8")
    with pytest.raises(LessonError) as caught:
        plan_source(read_source(lesson))
    assert len(caught.value.problems) > 1
    assert all("harbour.toml: " in problem.what for problem in caught.value.problems)


def test_a_track_takes_a_groove_file(lesson: Path) -> None:
    """By its path; one that is not there is told."""
    path = str(lesson.parent / "harbour.toml")
    assert groove_of(TrackWish(chart="blues", groove=path)).name == "harbour shuffle"
    assert groove_of(TrackWish(chart="blues", groove="shuffle")) == GROOVES["shuffle"]
    with pytest.raises(PhrasewrightError, match="cannot be read"):
        groove_of(TrackWish(chart="blues", groove=path.replace("harbour", "gone")))

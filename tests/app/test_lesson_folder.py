"""A folder of lessons: every state kept, files whole and buildable, whatever happens in between."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from phrasewright.app import lesson_files as module
from phrasewright.app.lesson_files import LessonFiles, NoLessonError
from phrasewright.app.lesson_folder import LessonFolder, MovedOnError, OpenLesson
from phrasewright.app.lesson_moves import LessonMoves, file_name
from phrasewright.course import history
from phrasewright.course.database import open_database
from phrasewright.errors import OutputError
from phrasewright.lesson.edit import Change

SMALL = '[lesson]\ntitle = "{title}"\n[scale]\nroot = "E"\n[band]\nchart = "| Em7 | A7 |"\n'
WRONG = Change(path=("band", "chart"), value="| H7 |")


class FallError(Exception):
    """The power fell."""


def folder_at(path: Path) -> LessonFolder:
    return LessonFolder(LessonFiles(folder=path, engine=open_database(path / ".studio" / "studio.sqlite")))


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[LessonFolder]:
    found = folder_at(tmp_path)
    yield found
    found.files.engine.dispose()


def make(folder: LessonFolder, title: str = "Small air") -> str:
    return LessonMoves(folder).make(title, SMALL.format(title=title)).known.id


def everything(folder: LessonFolder) -> list[OpenLesson]:
    """Every lesson that is there, looked at."""
    return [folder.opened(known) for known in folder.files.all_there()]


def title_change(text: str) -> Change:
    return Change(path=("lesson", "title"), value=text)


def files(folder: LessonFolder) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in folder.files.folder.glob("*.toml")}


def test_a_change_is_in_the_file_at_once_and_undone_from_it(folder: LessonFolder) -> None:
    lesson = make(folder)
    before = files(folder)
    known = folder.change(lesson, 1, [Change(path=("band", "tempos"), value=[80])], "tempo").known
    assert "tempos = [80]" in files(folder)["small-air.toml"]
    assert (known.undo, known.redo, known.revision) == ("tempo", "", 2)
    known = folder.undo(lesson, 2).known
    assert files(folder) == before
    assert (known.undo, known.redo) == ("", "tempo")
    folder.redo(lesson, known.revision)
    assert "tempos = [80]" in files(folder)["small-air.toml"]


def test_a_mistake_is_kept_and_the_file_stays_as_it_could_last_be_built(folder: LessonFolder) -> None:
    lesson = make(folder)
    before = files(folder)
    opened = folder.change(lesson, 1, [WRONG], "chart")
    assert not opened.saved
    assert opened.reading.problems[0].path == ("band", "chart")
    assert opened.reading.problems[0].at == 2
    assert files(folder) == before
    assert folder_at(folder.files.folder).open(lesson).known.head.text.count("H7") == 1, "the next start has it"
    good = folder.last_good(lesson)
    assert good is not None
    assert good.plan is not None
    mended = folder.change(lesson, 2, [Change(path=("band", "chart"), value="| B7 |")], "chart")
    assert mended.saved
    assert "| B7 |" in files(folder)["small-air.toml"]


def test_a_change_at_an_old_revision_is_refused_and_changes_nothing(folder: LessonFolder) -> None:
    lesson = make(folder)
    folder.change(lesson, 1, [title_change("First")], "title")
    with pytest.raises(MovedOnError):
        folder.change(lesson, 1, [title_change("Second")], "title")
    with pytest.raises(MovedOnError):
        folder.undo(lesson, 1)
    assert folder.open(lesson).reading.title == "First"


def test_a_change_after_undoing_forgets_what_was_undone(folder: LessonFolder) -> None:
    lesson = make(folder)
    folder.change(lesson, 1, [title_change("One")], "one")
    known = folder.undo(lesson, 2).known
    known = folder.change(lesson, known.revision, [title_change("Two")], "two").known
    assert known.redo == ""
    assert folder.redo(lesson, known.revision).reading.title == "Two"


def test_files_that_others_write_change_or_take_away_are_noticed(folder: LessonFolder) -> None:
    lesson = make(folder)
    path = folder.files.places().get(lesson)
    assert path is not None
    path.write_text(SMALL.format(title="From an editor"), encoding="utf-8")
    (folder.files.folder / "by-hand.toml").write_text(SMALL.format(title="By hand"), encoding="utf-8")
    (folder.files.folder / "groove.toml").write_text('name = "a groove"\n', encoding="utf-8")
    found = {one.reading.title: one.known for one in everything(folder)}
    assert set(found) == {"From an editor", "By hand"}
    assert found["From an editor"].undo == "changed outside the studio"
    assert folder.undo(lesson, found["From an editor"].revision).reading.title == "Small air"
    path.unlink()
    with pytest.raises(NoLessonError):
        folder.open(lesson)


def test_a_file_in_an_older_alphabet_or_with_mistakes_is_shown_as_it_is(folder: LessonFolder) -> None:
    folder.files.folder.joinpath("cafe.toml").write_bytes(SMALL.format(title="Café").encode("latin-1"))
    folder.files.folder.joinpath("broken.toml").write_bytes(b'[lesson]\ntitle = "never closed\n')
    found = {one.known.name: one for one in everything(folder)}
    assert found["cafe"].reading.title == "Café"
    assert found["broken"].reading.problems
    assert folder.files.folder.joinpath("broken.toml").read_bytes() == b'[lesson]\ntitle = "never closed\n'


def test_all_that_is_done_to_lessons_is_undone_and_done_again(folder: LessonFolder) -> None:
    lesson = make(folder, "One")
    copied = LessonMoves(folder).copy(lesson)
    assert copied.reading.title == "One (copy)"
    LessonMoves(folder).rename(copied.known.id, "Two")
    LessonMoves(folder).remove(lesson)
    states = [set(files(folder))]
    while LessonMoves(folder).undo():
        states.append(set(files(folder)))
    one, copy, two = "one.toml", "one-copy.toml", "two.toml"
    assert states == [{two}, {one, two}, {one, copy}, {one}, set()]
    again = [set(files(folder))]
    while LessonMoves(folder).redo():
        again.append(set(files(folder)))
    assert again == states[::-1]
    assert [found.reading.title for found in everything(folder)] == ["Two"]


def test_undoing_a_rename_keeps_what_was_changed_since(folder: LessonFolder) -> None:
    lesson = make(folder, "One")
    known = LessonMoves(folder).rename(lesson, "Two").known
    folder.change(lesson, known.revision, [Change(path=("band", "tempos"), value=[88])], "tempo")
    LessonMoves(folder).undo()
    assert folder.open(lesson).reading.title == "One"
    assert "tempos = [88]" in files(folder)["one.toml"]


def test_two_lessons_of_one_title_have_files_of_their_own(folder: LessonFolder) -> None:
    make(folder, "Air")
    make(folder, "Air!")
    assert set(files(folder)) == {"air.toml", "air-2.toml"}
    assert file_name("../../etc/passwd") == "etc-passwd"
    assert file_name("Ωδή") == "lesson"


def test_a_full_disk_is_told_and_nothing_is_lost(folder: LessonFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    lesson = make(folder)
    before = files(folder)

    def full(_path: Path, _content: bytes) -> None:
        raise OutputError("the disk is full")

    monkeypatch.setattr(module, "write_bytes", full)
    with pytest.raises(OutputError):
        folder.change(lesson, 1, [title_change("New")], "title")
    assert files(folder) == before
    monkeypatch.undo()
    assert folder.open(lesson).reading.title == "New", "what was done is in the history"
    assert 'title = "New"' in files(folder)["small-air.toml"], "and is written as soon as there is room"


DEEDS = st.lists(st.sampled_from(["change", "mistake", "undo", "redo", "rename", "copy", "remove", "back"]), max_size=8)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(DEEDS, st.integers(0, 12))
def test_after_a_fall_at_any_moment_every_lesson_is_whole(
    tmp_path_factory: pytest.TempPathFactory, deeds: list[str], falls_at: int
) -> None:
    """The power falls at the n-th write or removal of a file; the next start finds history and files in step."""
    path = tmp_path_factory.mktemp("fall")
    folder = folder_at(path)
    lesson = make(folder)
    with pytest.MonkeyPatch.context() as patch:
        left = [falls_at]
        write = module.write_bytes

        def falling(target: Path, content: bytes) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise FallError
            write(target, content)

        def falling_unlink(target: Path, missing_ok: bool = False) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise FallError
            if target.exists() or not missing_ok:
                target.rename(path / ".gone")

        patch.setattr(module, "write_bytes", falling)
        patch.setattr(Path, "unlink", falling_unlink)
        try:
            for number, deed in enumerate(deeds):
                _do(folder, lesson, deed, number)
        except FallError:
            pass
    folder.files.engine.dispose()
    again = folder_at(path)
    found = everything(again)
    names = [one.known.name for one in found]
    assert len(set(names)) == len(names)
    assert {f"{name}.toml" for name in names} == set(files(again)), "no file without its lesson, none twice"
    for one in found:
        good = again.last_good(one.known.id)
        assert good is not None
        assert one.path.read_bytes() == good.source.content
        assert not one.known.writing
    again.files.engine.dispose()


def _do(folder: LessonFolder, lesson: str, deed: str, number: int) -> None:
    try:
        revision = folder.open(lesson).known.revision
    except NoLessonError:
        LessonMoves(folder).undo()
        return
    match deed:
        case "change":
            folder.change(lesson, revision, [Change(path=("band", "tempos"), value=[60 + number])], deed)
        case "mistake":
            folder.change(lesson, revision, [WRONG], deed)
        case "undo":
            folder.undo(lesson, revision)
        case "redo":
            folder.redo(lesson, revision)
        case "rename":
            LessonMoves(folder).rename(lesson, f"Title {number}")
        case "copy":
            LessonMoves(folder).copy(lesson)
        case "remove":
            LessonMoves(folder).remove(lesson)
        case "back":
            LessonMoves(folder).undo()


def test_a_lesson_that_was_never_known_is_unknown(folder: LessonFolder) -> None:
    with pytest.raises(NoLessonError):
        folder.open("0" * 12)
    with pytest.raises(history.UnknownLessonError):
        history.lesson(folder.files.engine, "0" * 12)

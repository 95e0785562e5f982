"""Building packs: what is made, what is kept, and that a failure leaves everything as it was."""

from __future__ import annotations

import errno
import json
import shutil
from hashlib import sha256
from pathlib import Path

import pytest

from phrasewright.app import stages
from phrasewright.app.build import BuildReport, build_pack
from phrasewright.app.manifest import Manifest, read_manifest
from phrasewright.errors import LessonError, OutputError


def _copy(report: BuildReport, lesson: Path, folder: Path) -> tuple[Path, Path]:
    """A lesson and its built pack to change."""
    own_lesson = folder / lesson.name
    shutil.copy(lesson, own_lesson)
    shutil.copytree(report.pack, folder / "pack")
    return own_lesson, folder / "pack"


def _state(pack: Path) -> dict[str, str]:
    """Path -> digest of everything in a pack."""
    files = (path for path in pack.rglob("*") if path.is_file())
    return {path.relative_to(pack).as_posix(): sha256(path.read_bytes()).hexdigest() for path in files}


def test_a_pack_holds_everything_a_lesson_needs(built: BuildReport) -> None:
    """Handouts, page, figures, exchange files, audio at every tempo, words and the lesson itself."""
    names = {entry.path for entry in built.manifest.files}
    assert {"handout-a4.pdf", "handout-letter.pdf", "index.html", "words.txt", "lesson.toml"} <= names
    assert {f"exchange/study-1.{kind}" for kind in ("musicxml", "mei", "mid")} <= names
    parts = {
        "stem-lead.flac",
        "stem-chords.flac",
        "stem-bass.flac",
        "stem-drums.flac",
        "band.mp3",
        "demonstration.flac",
    }
    assert {f"audio/120-bpm/{name}" for name in parts} <= names
    assert any(name.startswith("figures/study-1/narrow-") for name in names)


def test_the_manifest_names_every_file_with_its_hash(built: BuildReport) -> None:
    """manifest.json lists exactly the files that are there, with their true SHA-256, role and stage."""
    state = _state(built.pack)
    state.pop("manifest.json")
    document = json.loads((built.pack / "manifest.json").read_text(encoding="utf-8"))
    assert {row["path"]: row["sha256"] for row in document["files"]} == state
    assert all(row["role"] and row["stage"] in document["stages"] for row in document["files"])


def test_the_manifest_survives_write_and_read(built: BuildReport) -> None:
    """Reading manifest.json gives the manifest that was written."""
    assert read_manifest(built.pack) == built.manifest


def test_building_again_makes_nothing(built: BuildReport, small_lesson: Path) -> None:
    """A second build of an unchanged lesson redoes no stage and touches no file."""
    times = {path: path.stat().st_mtime_ns for path in built.pack.rglob("*")}
    again = build_pack(small_lesson, built.pack)
    assert again.made == ()
    assert {path: path.stat().st_mtime_ns for path in built.pack.rglob("*")} == times


def test_the_same_lesson_gives_the_same_bytes(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """Two builds in two folders are equal, byte for byte."""
    build_pack(small_lesson, tmp_path / "again")
    assert _state(tmp_path / "again") == _state(built.pack)


def test_a_changed_tempo_makes_only_what_sounds(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """Figures, handouts and words are kept; audio, exchange files and the page's tempo list are made again."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    lesson.write_text(lesson.read_text().replace("[120]", "[126]"))
    before = _state(pack)
    report = build_pack(lesson, pack)
    assert set(report.kept) == {"figures", "handout", "words", "reasons"}
    after = _state(pack)
    silent = [path for path in before if path.startswith(("figures/", "handout", "words"))]
    assert silent
    assert all(after[path] == before[path] for path in silent)
    assert not any(path.startswith("audio/120-bpm") for path in after)
    assert "audio/126-bpm/band.mp3" in after


def test_an_added_tempo_keeps_the_audio_there_is(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """Only the new tempo is played."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    lesson.write_text(lesson.read_text().replace("[120]", "[120, 132]"))
    report = build_pack(lesson, pack)
    assert "audio at 120" in report.kept
    assert "audio at 132" in report.made


def test_a_damaged_file_is_made_again(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """A file that is not as the manifest says brings its own stage back, and only that."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    (pack / "words.txt").write_text("gone")
    report = build_pack(lesson, pack)
    assert report.made == ("words",)
    assert _state(pack) == _state(built.pack)


def test_the_teachers_own_files_are_left_alone(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """A file the program did not make stays, also beside files that are removed."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    own = pack / "audio" / "120-bpm" / "my-take.wav"
    own.write_bytes(b"mine")
    lesson.write_text(lesson.read_text().replace("[120]", "[126]"))
    build_pack(lesson, pack)
    assert own.read_bytes() == b"mine"


def test_a_full_disk_leaves_the_old_pack_whole(
    built: BuildReport, small_lesson: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When a stage cannot be written nothing is moved in, no scratch stays, and the error says what to do."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    lesson.write_text(lesson.read_text().replace("Play little", "Play less"))
    before = _state(pack)

    def full(*_: object) -> dict[str, bytes]:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(stages, "_words", full)
    with pytest.raises(OutputError, match="No space left on device") as caught:
        build_pack(lesson, pack)
    assert "--out" in caught.value.hint
    assert _state(pack) == before
    assert not list(pack.glob(".making-*"))


def test_a_broken_lesson_leaves_the_old_pack_whole(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """A lesson with problems is refused before anything is touched."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    lesson.write_text(lesson.read_text().replace("Am7", "Hm7"))
    before = _state(pack)
    with pytest.raises(LessonError, match="Hm7"):
        build_pack(lesson, pack)
    assert _state(pack) == before


def test_a_manifest_from_elsewhere_is_not_trusted(built: BuildReport, small_lesson: Path, tmp_path: Path) -> None:
    """A manifest that names files outside the pack cannot make the program remove them."""
    lesson, pack = _copy(built, small_lesson, tmp_path)
    outside = tmp_path / "outside.txt"
    outside.write_text("keep")
    document = json.loads((pack / "manifest.json").read_text())
    document["files"].append({"path": "../outside.txt", "role": "words", "sha256": "0", "bytes": 4, "stage": "words"})
    (pack / "manifest.json").write_text(json.dumps(document))
    build_pack(lesson, pack)
    assert outside.read_text() == "keep"


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 99}', '{"format": 1}'])
def test_an_unreadable_manifest_counts_as_none(text: str, tmp_path: Path) -> None:
    """Whatever stands in manifest.json, reading it gives a manifest or None."""
    (tmp_path / "manifest.json").write_text(text)
    found: Manifest | None = read_manifest(tmp_path)
    assert found is None

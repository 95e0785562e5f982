"""A build that is killed at any of its steps on the disk: the pack is the old one or the new one, never a mixture."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from phrasewright.app import stages
from phrasewright.app.build import build_pack
from phrasewright.app.manifest import Role, read_manifest
from phrasewright.app.pack import Stage, sweep
from phrasewright.app.source import LessonSource
from phrasewright.app.stages import PlannedBuild

FIRST = {"page": {"index.html": b"old page"}, "audio": {"audio/60/a.wav": b"old", "audio/60/b.wav": b"gone"}}
THEN = {"page": {"index.html": b"new page"}, "audio": {"audio/60/a.wav": b"new", "audio/75/c.wav": b"more"}}


class _Killed(BaseException):
    """The process is no more."""


class _Disk:
    """Counts the steps on the disk that cannot be taken back; at one of them the process is killed."""

    def __init__(self, patch: pytest.MonkeyPatch, dies_at: int) -> None:
        self.steps, self.is_dead, self._dies_at = 0, False, dies_at
        for place, name in ((Path, "replace"), (Path, "unlink"), (Path, "rmdir"), (Path, "mkdir")):
            patch.setattr(place, name, self._counted(getattr(place, name)))
        patch.setattr("os.replace", self._counted(__import__("os").replace))
        patch.setattr(shutil, "rmtree", self._living(shutil.rmtree))

    def _counted(self, does: Callable[..., object]) -> Callable[..., object]:
        def step(*arguments: object, **named: object) -> object:
            self.steps += 1
            if self.steps == self._dies_at or self.is_dead:
                self.is_dead = True
                raise _Killed
            return does(*arguments, **named)

        return step

    def _living(self, does: Callable[..., object]) -> Callable[..., object]:
        return lambda *arguments, **named: None if self.is_dead else does(*arguments, **named)


def _planned(content: dict[str, dict[str, bytes]]) -> Callable[[LessonSource], PlannedBuild]:
    def stage(name: str, files: dict[str, bytes]) -> Stage:
        def make(folder: Path) -> None:
            for path, text in files.items():
                (folder / path).parent.mkdir(parents=True, exist_ok=True)
                (folder / path).write_bytes(text)

        return Stage(name=name, role=Role.AUDIO, key=repr(files), words=name, make=make)

    def plan(_: LessonSource) -> PlannedBuild:
        made = tuple(stage(name, files) for name, files in content.items())
        return PlannedBuild(title="Tiny", seed=1, stages=made, workshop=None)  # type: ignore[arg-type]

    return plan


def _state(pack: Path) -> dict[str, bytes]:
    return {
        path.relative_to(pack).as_posix(): path.read_bytes()
        for path in pack.rglob("*")
        if path.is_file() and path.name != "manifest.json"
    }


def _whole(content: dict[str, dict[str, bytes]]) -> dict[str, bytes]:
    return {path: text for files in content.values() for path, text in files.items()}


@pytest.fixture
def pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "lesson.toml").write_text("one")
    monkeypatch.setattr(stages, "plan_stages", _planned(FIRST))
    build_pack(tmp_path / "lesson.toml", tmp_path / "pack")
    (tmp_path / "lesson.toml").write_text("two")
    monkeypatch.setattr(stages, "plan_stages", _planned(THEN))
    return tmp_path / "pack"


def _killed_at(step: int, pack: Path) -> bool:
    """Build, and be killed at a step; whether it came so far."""
    with pytest.MonkeyPatch.context() as patch:
        disk = _Disk(patch, step)
        try:
            build_pack(pack.parent / "lesson.toml", pack)
        except _Killed:
            return True
        return disk.is_dead


@pytest.mark.parametrize("comes_next", ["a sweep", "a build", "a sweep that is killed"])
def test_killed_at_every_step(pack: Path, tmp_path: Path, comes_next: str) -> None:
    """At each step in turn: what comes next finds the old pack or makes the new one, and leaves no scratch."""
    before, seen, step = tmp_path / "before", set(), 0
    shutil.copytree(pack, before)
    while True:
        step += 1
        shutil.rmtree(pack)
        shutil.copytree(before, pack)
        if not _killed_at(step, pack):
            break
        if comes_next == "a sweep that is killed":
            for again in range(1, 6):
                with pytest.MonkeyPatch.context() as patch:
                    _Disk(patch, again)
                    try:
                        sweep(pack)
                    except _Killed:
                        continue
                    break
        if comes_next == "a build":
            build_pack(tmp_path / "lesson.toml", pack)
        sweep(pack)
        found = _state(pack)
        assert found in (_whole(FIRST), _whole(THEN)), f"mixed after step {step}"
        manifest = read_manifest(pack)
        assert manifest is not None
        assert {entry.path for entry in manifest.files} == found.keys()
        assert not list(pack.glob(".making-*"))
        seen.add("new" if found == _whole(THEN) else "old")
        build_pack(tmp_path / "lesson.toml", pack)
        assert _state(pack) == _whole(THEN)
    assert step > 8
    assert seen == ({"new"} if comes_next == "a build" else {"old", "new"})

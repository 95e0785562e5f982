"""Build a pack from a lesson: decide which stages are out of date, make those, move them in together.

Nothing is moved into the pack until every stage has succeeded, so a failed build leaves the old pack whole; one that is
killed while it moves is finished by the next.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from phrasewright.app.manifest import Entry, Manifest, program_digest, read_manifest
from phrasewright.app.pack import (
    Stage,
    decide,
    entries_of,
    files_are_intact,
    is_current,
    move_in,
    recover,
    staging,
)
from phrasewright.app.source import LessonSource, read_source

WORKERS = 2  # engraving waits for its own process and audio encoding leaves the interpreter: two overlap well


class Progress(Protocol):
    """Told what a build is doing; the command line draws it."""

    def begin(self, stages: int) -> None:
        """So many stages will be made."""

    def starting(self, words: str) -> None:
        """A stage starts."""

    def finished(self, words: str) -> None:
        """A stage is done."""


class Silence:
    """A Progress that says nothing."""

    def begin(self, stages: int) -> None:
        """Say nothing."""

    def starting(self, words: str) -> None:
        """Say nothing."""

    def finished(self, words: str) -> None:
        """Say nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildReport:
    """What a build did. made, kept: stage names; seconds_s: by stage made."""

    pack: Path
    manifest: Manifest
    made: tuple[str, ...]
    kept: tuple[str, ...]
    removed: tuple[str, ...]
    seconds_s: dict[str, float]


def build_pack(lesson_file: Path, pack: Path, *, progress: Progress | None = None) -> BuildReport:
    """Build or refresh the pack of a lesson file. Raises LessonError, NeckError or OutputError."""
    source = read_source(lesson_file)
    recover(pack)
    known = read_manifest(pack)
    if known is not None and _is_unchanged(source, known) and files_are_intact(pack, known.files):
        return BuildReport(pack=pack, manifest=known, made=(), kept=tuple(known.stages), removed=(), seconds_s={})
    from phrasewright.app.stages import FIGURES, plan_stages  # heavy: engraver and sound are loaded only when needed

    planned = plan_stages(source)
    outdated = [stage for stage in planned.stages if not is_current(stage, pack, known)]
    manifest = Manifest(
        title=planned.title,
        lesson_sha256=source.sha256,
        seed=planned.seed,
        program=program_digest(),
        stages={stage.name: stage.key for stage in planned.stages},
    )
    kept_figures = [stage for stage in planned.stages if stage.name == FIGURES and stage not in outdated]
    if kept_figures and known is not None:
        planned.workshop.take_figures(pack, tuple(entry.path for entry in known.of_stage(FIGURES)))
    with staging(pack) as scratch:
        scratch.mkdir(parents=True)
        seconds_s = _make(outdated, scratch, progress or Silence())
        files: list[Entry] = []
        for stage in planned.stages:
            if stage in outdated:
                files += entries_of(stage, scratch / stage.name)
            elif known is not None:
                files += known.of_stage(stage.name)
        manifest = replace(manifest, files=tuple(sorted(files, key=lambda entry: entry.path)))
        decide(manifest, scratch)
        removed = move_in(scratch, pack)
    return BuildReport(
        pack=pack,
        manifest=manifest,
        made=tuple(stage.name for stage in outdated),
        kept=tuple(stage.name for stage in planned.stages if stage not in outdated),
        removed=removed,
        seconds_s=seconds_s,
    )


def _is_unchanged(source: LessonSource, known: Manifest) -> bool:
    return known.lesson_sha256 == source.sha256 and known.program == program_digest()


def _make(stages: Sequence[Stage], scratch: Path, progress: Progress) -> dict[str, float]:
    """Make every stage below its own folder of the scratch; returns seconds by stage. The first failure is raised."""
    progress.begin(len(stages))
    seconds_s: dict[str, float] = {}
    with ThreadPoolExecutor(max_workers=WORKERS, thread_name_prefix=scratch.name) as pool:
        running: dict[Future[float], Stage] = {}
        try:
            for stage in stages:
                running[pool.submit(_make_one, stage, scratch / stage.name, progress)] = stage
            for done in as_completed(running):
                stage = running[done]
                seconds_s[stage.name] = done.result()
                progress.finished(stage.words)
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            _await_threads(scratch.name)
            raise
    return seconds_s


def _await_threads(prefix: str) -> None:
    """Wait for the threads of a closed pool that it does not know of: one interrupted at its start works all the same.

    A thread that has not begun finds no more work.
    """
    for thread in threading.enumerate():
        if thread.name.startswith(prefix) and thread.is_alive():
            thread.join()


def _make_one(stage: Stage, folder: Path, progress: Progress) -> float:
    progress.starting(stage.words)
    started = time.perf_counter()
    folder.mkdir(parents=True)
    stage.make(folder)
    return time.perf_counter() - started

"""How the command line draws progress and reports: a bar on a terminal, plain lines elsewhere, JSON when asked."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

if TYPE_CHECKING:
    from phrasewright.app.build import BuildReport


class Bar:
    """A build's progress as one bar with the stages under way."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._task = progress.add_task("reading the lesson", total=None)
        self._running: list[str] = []

    def begin(self, stages: int) -> None:
        """Set the length of the bar."""
        self._progress.update(self._task, total=max(stages, 1))

    def starting(self, words: str) -> None:
        """Name a stage that starts."""
        self._running.append(words)
        self._describe()

    def finished(self, words: str) -> None:
        """Move the bar on by one stage."""
        self._running.remove(words)
        self._progress.advance(self._task)
        self._describe()

    def _describe(self) -> None:
        self._progress.update(self._task, description=", ".join(self._running) or "putting the pack together")


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator[Bar | None]:
    """A bar on stderr while the block runs; None when quiet."""
    if quiet:
        yield None
        return
    columns = (
        SpinnerColumn(),
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        yield Bar(progress)


@contextmanager
def file_bar(files: int, *, quiet: bool) -> Iterator[Callable[[Path], None]]:
    """A bar on stderr over many files while the block runs; yields what to call with each finished file."""
    with Progress(console=Console(stderr=True), transient=True, disable=quiet or files < 2) as progress:
        task = progress.add_task("reading", total=files)
        yield lambda path: progress.update(task, advance=1, description=path.name)


def report_json(report: BuildReport) -> str:
    """A build report for a machine."""
    return json.dumps(build_document(report), ensure_ascii=False)


def build_document(report: BuildReport) -> dict[str, object]:
    """A build report as plain values."""
    return {
        "pack": str(report.pack),
        "title": report.manifest.title,
        "made": list(report.made),
        "kept": list(report.kept),
        "removed": list(report.removed),
        "seconds": {name: round(seconds, 3) for name, seconds in sorted(report.seconds_s.items())},
        "files": len(report.manifest.files),
    }


def report_text(report: BuildReport, elapsed_s: float) -> str:
    """A build report for a person: what was made, and where to look."""
    size_mb = sum(entry.size_bytes for entry in report.manifest.files) / 1e6
    if not report.made:
        what = f"Nothing has changed: {report.manifest.title} is up to date ({elapsed_s:.1f} s)."
    else:
        what = f"Built {report.manifest.title} in {elapsed_s:.1f} s: {', '.join(report.made)}."
    pack = report.pack
    lines = [
        what,
        f"{len(report.manifest.files)} files, {size_mb:.1f} MB in {pack}",
        f"  page      {pack / 'index.html'}   open it in any browser, no network needed",
        f"  handout   {pack / 'handout-a4.pdf'} and handout-letter.pdf",
        f"  audio     {pack / 'audio'}",
        f"  exchange  {pack / 'exchange'}",
    ]
    return "\n".join(lines)

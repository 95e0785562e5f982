"""``phrasewright demo``: the main job on a lesson that comes with the program."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated

import typer

from phrasewright.cli.show import progress_bar, report_json, report_text


def demo(
    out: Annotated[Path, typer.Option(help="Folder to write the lesson and its pack to.")] = Path("packs"),
    json: Annotated[bool, typer.Option("--json", help="Report as JSON, without a progress bar.")] = False,
) -> None:
    """Write the demonstration lesson and build its pack.

    Example: `phrasewright demo`
    """
    from phrasewright.app.demo import build_demo

    started = time.perf_counter()
    with progress_bar(quiet=json) as bar:
        lesson, report = build_demo(out, progress=bar)
    if json:
        print(report_json(report))
        return
    print(report_text(report, time.perf_counter() - started))
    print(f"  lesson    {lesson}   change it, then: phrasewright build {lesson} --out {report.pack}")

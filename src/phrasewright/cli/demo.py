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
    """Write the demonstration lesson, build its pack, and listen to a take of it with slips of known size.

    Example: `phrasewright demo`
    """
    from phrasewright.app.demo import build_demo
    from phrasewright.app.demo_take import listen_to_demo

    started = time.perf_counter()
    with progress_bar(quiet=json) as bar:
        lesson, report = build_demo(out, progress=bar)
    if json:
        print(report_json(report))
        return
    print(report_text(report, time.perf_counter() - started))
    print(f"  lesson    {lesson}   change it, then: phrasewright build {lesson} --out {report.pack}")
    take = listen_to_demo(lesson, out / "takes")
    print(f"A take of its study was played with slips of known size, over the band, and heard: {take.heard.source}")
    for slip in take.slips:
        print(f"  {slip.words}")
    print("  report    " + next(str(path) for path in take.heard.written if path.suffix == ".html"))

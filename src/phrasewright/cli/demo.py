"""``phrasewright demo``: the main job on a lesson that comes with the program."""

from __future__ import annotations

import json as json_format
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from phrasewright.cli.show import build_document, progress_bar, report_text

if TYPE_CHECKING:
    from phrasewright.app.demo_take import DemoTake


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
    if not json:
        print(report_text(report, time.perf_counter() - started))
        print(f"  lesson    {lesson}   change it, then: phrasewright build {lesson} --out {report.pack}")
    take = listen_to_demo(lesson, out / "takes")
    if json:
        print(json_format.dumps(build_document(report) | {"take": take_document(take)}, ensure_ascii=False))
        return
    print(f"A take of its study was played with slips of known size, over the band, and heard: {take.heard.source}")
    for slip in take.slips:
        print(f"  {slip.words}")
    print("  report    " + next(str(path) for path in take.heard.written if path.suffix == ".html"))


def take_document(take: DemoTake) -> dict[str, object]:
    """The demonstration take for a machine: what was planted and what was heard of it."""
    return {
        "source": str(take.heard.source),
        "written": [str(path) for path in take.heard.written],
        "slips": [
            {
                "kind": str(one.slip.kind),
                "bars": list(one.slip.bars),
                "planted": one.slip.size,
                "heard": one.found,
                "unit": one.slip.unit,
            }
            for one in take.slips
        ],
    }

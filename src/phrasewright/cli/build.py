"""``phrasewright build``: the pack of a lesson."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated

import typer

from phrasewright.cli.show import progress_bar, report_json, report_text


def build(
    lesson: Annotated[Path, typer.Argument(help="The lesson file (.toml).")],
    out: Annotated[Path | None, typer.Option(help="Folder of the pack; default: packs/ and the lesson's name.")] = None,
    json: Annotated[bool, typer.Option("--json", help="Report as JSON, without a progress bar.")] = False,
) -> None:
    """Build the pack of a lesson: handout, page, audio, figures and exchange files.

    Only what has changed is made again.

    Example: `phrasewright build lessons/first-air.toml --out packs/first-air`
    """
    from phrasewright.app.build import build_pack

    started = time.perf_counter()
    pack = out if out is not None else Path("packs") / lesson.stem
    with progress_bar(quiet=json) as bar:
        report = build_pack(lesson, pack, progress=bar)
    print(report_json(report) if json else report_text(report, time.perf_counter() - started))

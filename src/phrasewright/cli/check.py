"""``phrasewright check``: what is wrong in lesson files, or what they would teach."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from phrasewright.app.check import Checked


def check(
    lessons: Annotated[list[Path], typer.Argument(help="Lesson files (.toml).", metavar="LESSON...")],
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Check lesson files: every problem with its line and how to mend it, or what would be taught.

    Example: `phrasewright check lessons/*.toml`
    """
    from phrasewright.app.check import check_lesson

    checked = [check_lesson(path) for path in lessons]
    if json:
        print(json_format.dumps([_document(one) for one in checked], ensure_ascii=False, indent=2))
    else:
        print("\n\n".join(_text(one) for one in checked))
    raise typer.Exit(max(one.exit_code for one in checked))


def _text(checked: Checked) -> str:
    if checked.problems:
        return "\n".join(problem.render(str(checked.path)) for problem in checked.problems)
    width = max(len(name) for name, _ in checked.facts)
    return "\n".join([f"{checked.path}: {checked.title}", *(f"  {n:<{width}}  {v}" for n, v in checked.facts)])


def _document(checked: Checked) -> dict[str, object]:
    return {
        "file": str(checked.path),
        "title": checked.title,
        "facts": dict(checked.facts),
        "problems": [
            {"line": p.line, "column": p.column, "key": p.where, "what": p.what, "hint": p.hint}
            for p in checked.problems
        ],
    }

"""``phrasewright new``: a commented lesson to begin with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def new(
    lesson: Annotated[Path, typer.Argument(help="The file to write (.toml).")],
    title: Annotated[str, typer.Option(help="Title of the lesson.")] = "A new lesson",
    root: Annotated[str, typer.Option(help="The note the scale begins on: E, F#, Bb.")] = "A",
    scale: Annotated[str, typer.Option(help="The scale: minor-pentatonic, blues, dorian ...")] = "minor-pentatonic",
    instrument: Annotated[str, typer.Option(help="The instrument: guitar, bass, ukulele ...")] = "guitar",
    style: Annotated[str, typer.Option(help="How the hand lies: open, box, three per string, one string.")] = "box",
    meter: Annotated[str, typer.Option(help="The meter: 4/4, 3/4, 12/8 ...")] = "4/4",
) -> None:
    """Write a starting lesson in which every key is explained.

    Example: `phrasewright new lessons/first-air.toml --root E --style open`
    """
    from phrasewright.app.start import LessonWish, start_lesson

    wish = LessonWish(title=title, root=root, scale=scale, instrument=instrument, style=style, meter=meter)
    start_lesson(lesson, wish)
    print(f"Wrote {lesson}. Change what you like, then: phrasewright build {lesson}")

"""The demonstration: a lesson that comes with the program, written out and built."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from phrasewright.app.build import BuildReport, Progress, build_pack
from phrasewright.errors import OutputError

NAME = "three-notes-and-a-rest"


def build_demo(folder: Path, *, progress: Progress | None = None) -> tuple[Path, BuildReport]:
    """Write the demonstration lesson into a folder, unless it is there already, and build its pack beside it."""
    lesson = folder / f"{NAME}.toml"
    text = resources.files("phrasewright.lesson").joinpath("demo.toml").read_bytes()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not lesson.exists():
            lesson.write_bytes(text)
    except OSError as error:
        raise OutputError(f"{lesson} could not be written: {error.strerror}.", hint="Choose another --out.") from error
    return lesson, build_pack(lesson, folder / NAME, progress=progress)

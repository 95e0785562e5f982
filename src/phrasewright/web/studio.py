"""What every answer of the studio works with: the folder of lessons and the database."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request
from sqlalchemy import Engine

from phrasewright.app.lesson_files import LessonFiles
from phrasewright.app.lesson_folder import LessonFolder
from phrasewright.app.lesson_moves import LessonMoves
from phrasewright.course import password, people  # noqa: F401  (their tables)
from phrasewright.course.database import open_database

HOME = ".studio"  # below the folder of lessons: the database, takes, scratch


@dataclass(frozen=True, slots=True, kw_only=True)
class Studio:
    """folder: of the lesson files; engine: of the database; lessons: what is in the folder; moves: what
    is done to them as a whole.
    """

    folder: Path
    engine: Engine
    lessons: LessonFolder = field(repr=False)
    moves: LessonMoves = field(repr=False)

    @property
    def home(self) -> Path:
        """Where the studio keeps what is not a lesson."""
        return self.folder / HOME


def open_studio(folder: Path) -> Studio:
    """The studio on a folder of lessons. Raises OutputError when its database cannot be opened."""
    engine = open_database(folder / HOME / "studio.sqlite")
    lessons = LessonFolder(LessonFiles(folder=folder, engine=engine))
    return Studio(folder=folder, engine=engine, lessons=lessons, moves=LessonMoves(lessons))


async def studio_of(request: Request) -> Studio:
    """The studio that answers a request."""
    studio: Studio = request.app.state.studio
    return studio


TheStudio = Annotated[Studio, Depends(studio_of)]

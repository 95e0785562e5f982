"""How the id of a lesson becomes its file, in one place."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Annotated

from fastapi import Depends

from phrasewright.web.answers import RefusedError
from phrasewright.web.studio import Studio, TheStudio

PACKS = "packs"  # below the folder of lessons


class Lessons:
    """The lessons of one studio, by id: until they have ids of their own, made from the names of their files."""

    def __init__(self, studio: Studio) -> None:
        self._folder = studio.folder

    def file_of(self, lesson_id: str) -> Path | None:
        """The file of a lesson; None when there is no such lesson."""
        found = (path for path in self._folder.glob("*.toml") if id_of_name(path.stem) == lesson_id)
        return next(found, None)

    def known_file(self, lesson_id: str) -> Path:
        """The file of a lesson. Raises RefusedError (404) when there is none."""
        found = self.file_of(lesson_id)
        if found is None:
            raise RefusedError("There is no such lesson.", status=404)
        return found

    def pack_of(self, lesson_id: str) -> Path:
        """The folder of a lesson's pack, built or not. Raises RefusedError (404) when there is no such lesson."""
        return self._folder / PACKS / self.known_file(lesson_id).stem


def id_of_name(stem: str) -> str:
    """The id of a lesson by the name of its file."""
    return hashlib.sha256(stem.encode()).hexdigest()[:12]


async def lessons_of(studio: TheStudio) -> Lessons:
    """The lessons of the studio that answers a request."""
    return Lessons(studio)


TheLessons = Annotated[Lessons, Depends(lessons_of)]

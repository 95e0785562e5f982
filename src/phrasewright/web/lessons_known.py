"""How the id of a lesson becomes its file and its pack, in one place."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from fastapi import Depends

from phrasewright.app.lesson_files import PACKS
from phrasewright.web.answers import RefusedError
from phrasewright.web.studio import Studio, TheStudio


class Lessons:
    """The lessons of one studio, by id."""

    def __init__(self, studio: Studio) -> None:
        self._files = studio.lessons.files

    def file_of(self, lesson_id: str) -> Path | None:
        """The file of a lesson; None when there is no such lesson."""
        return self._files.places().get(lesson_id)

    def known_file(self, lesson_id: str) -> Path:
        """The file of a lesson. Raises RefusedError (404) when there is none."""
        found = self.file_of(lesson_id)
        if found is None:
            raise RefusedError("There is no such lesson.", status=404)
        return found

    def pack_of(self, lesson_id: str) -> Path:
        """The folder of a lesson's pack, built or not. Raises RefusedError (404) when there is no such lesson."""
        file = self.known_file(lesson_id)
        return file.parent / PACKS / file.stem


async def lessons_of(studio: TheStudio) -> Lessons:
    """The lessons of the studio that answers a request."""
    return Lessons(studio)


TheLessons = Annotated[Lessons, Depends(lessons_of)]

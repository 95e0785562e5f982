"""Start a lesson: write a commented file to change."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from phrasewright.band.groove import grooves_for
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.lesson.new import starter
from phrasewright.lesson.read import read_lesson
from phrasewright.lesson.schema import METERS
from phrasewright.neck.catalogue import INSTRUMENT_KINDS
from phrasewright.neck.place import PositionStyle
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS


class WishError(PhrasewrightError):
    """A wish for a new lesson that names something unknown."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonWish:
    """What a new lesson is about."""

    title: str
    root: str
    scale: str
    instrument: str
    style: str
    meter: str


def start_lesson(path: Path, wish: LessonWish) -> None:
    """Write a starting lesson. Raises WishError for an unknown word, OutputError when the file is there already."""
    text = starting_text(wish)
    read_lesson(text, str(path))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
    except FileExistsError as error:
        raise OutputError(
            f"{path} is there already and was left as it is.", hint="Choose another name, or move the old file away."
        ) from error
    except OSError as error:
        raise OutputError(f"{path} could not be written: {error.strerror}.", hint="Choose another folder.") from error


def starting_text(wish: LessonWish) -> str:
    """The text of a lesson to begin with. Raises WishError for an unknown word."""
    for word, known, what in (
        (wish.scale, SCALE_KINDS, "scale"),
        (wish.instrument, INSTRUMENT_KINDS, "instrument"),
        (wish.style, list(PositionStyle), "position style"),
        (wish.meter, METERS, "meter"),
    ):
        if word not in known:
            raise WishError(f"There is no {what} called {word!r}.", hint=f"There are: {', '.join(known)}.")
    try:
        root = NoteName.parse(wish.root)
    except ValueError as error:
        raise WishError(
            f"{wish.root!r} is not a note.", hint="Write a letter A to G, with # or b: E, F#, Bb."
        ) from error
    groove = grooves_for(Meter.parse(wish.meter))[0].id
    return starter(
        wish.title,
        str(root),
        wish.scale,
        instrument=wish.instrument,
        style=wish.style,
        meter=wish.meter,
        groove=groove,
    )

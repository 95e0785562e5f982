"""Listen to takes from files: for each one a JSON file with every note and finding."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from phrasewright.app.assignment import Assignment, AssignmentError, assignment_of
from phrasewright.app.fingering import check_names, make_folder, wished_instrument
from phrasewright.app.review import Review, review, review_in_bars
from phrasewright.app.take_json import take_json
from phrasewright.errors import PhrasewrightError
from phrasewright.listen.backing import Removal, remove_track
from phrasewright.listen.finding import Finding
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.take_file import read_take
from phrasewright.neck.instrument import Instrument
from phrasewright.sound.encode import write_bytes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListenWish:
    """What is known of takes. played_on: the lesson's instrument where there is one; track: what they were played to.

    given_offset_s: where the first bar begins in them, None = told from the takes.
    """

    played_on: Instrument
    assignment: Assignment | None = None
    track: Path | None = None
    given_offset_s: float | None = None


def listen_wish(
    lesson: Path | None,
    *,
    exercise: str | None = None,
    tempo_bpm: float | None = None,
    offset_s: float | None = None,
    track: Path | None = None,
    instrument: str | None = None,
    tuning: str | None = None,
    capo: int = 0,
) -> ListenWish:
    """A wish from the words of a command. Raises AssignmentError, LessonError, OutputError, InstrumentWishError."""
    if lesson is None:
        if not (exercise is None and tempo_bpm is None and offset_s is None):
            hint = "Name the lesson file with --lesson."
            raise AssignmentError("An exercise, a tempo or an offset needs the lesson it belongs to.", hint=hint)
        played_on = wished_instrument(instrument or "guitar", tuning=tuning, capo=capo)
        return ListenWish(played_on=played_on, track=track)
    if instrument is not None or tuning is not None or capo:
        hint = "Leave out --instrument, --tuning and --capo, or change them in the lesson."
        raise AssignmentError("The lesson says what is played on.", hint=hint)
    assignment = assignment_of(lesson, exercise=exercise, tempo_bpm=tempo_bpm)
    return ListenWish(
        played_on=assignment.plan.lesson.instrument, assignment=assignment, track=track, given_offset_s=offset_s
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardFile:
    """What became of one take. written: its files; empty when ``error`` says why there is nothing.

    words: what was played, in a sentence; first: the few findings to tell at once; both empty without a lesson.
    """

    source: Path
    length_s: float = 0.0
    notes: int = 0
    tuning_cents: float | None = None
    tempo_bpm: float | None = None
    words: str = ""
    first: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()
    written: tuple[Path, ...] = ()
    error: PhrasewrightError | None = None


def listen_to(
    sources: Sequence[Path], out: Path, wish: ListenWish, *, done: Callable[[Path], None] = lambda _: None
) -> list[HeardFile]:
    """Listen to every take and write its files into ``out``; a take that fails does not stop the others.

    done: told each file when it is finished. Raises OutputError when two takes would be written to one name, the folder
    cannot be made or the track cannot be opened, RecordingError when it is no recording.
    """
    check_names(sources)
    known = None if wish.track is None else read_take(wish.track).audio
    make_folder(out)
    found = []
    for source in sources:
        found.append(_listen_to(source, out, wish, known))
        done(source)
    return found


def _listen_to(source: Path, out: Path, wish: ListenWish, track: FloatArray | None) -> HeardFile:
    try:
        take = read_take(source)
        removal = None if track is None else remove_track(take.audio, track, RATE_HZ)
        told = _review(take.audio, wish, removal, (*take.remarks, *track_remarks(removal)))
        files = {out / f"{source.stem}.json": take_json(told).encode()}
        for path, content in files.items():
            write_bytes(path, content)
    except PhrasewrightError as error:
        return HeardFile(source=source, error=error)
    in_bars = told.in_bars
    return HeardFile(
        source=source,
        length_s=told.hearing.length_s,
        notes=len(told.hearing.notes),
        tuning_cents=told.hearing.tuning_cents,
        tempo_bpm=None if in_bars is None else in_bars.tempo_bpm,
        words="" if in_bars is None else in_bars.words,
        first=() if in_bars is None else in_bars.first,
        remarks=told.remarks,
        written=tuple(files),
    )


def _review(audio: FloatArray, wish: ListenWish, removal: Removal | None, remarks: tuple[str, ...]) -> Review:
    clean = audio if removal is None else removal.audio
    if wish.assignment is None:
        return review(clean, wish.played_on, removal=removal, remarks=remarks)
    return review_in_bars(clean, wish.assignment, removal=removal, given_offset_s=wish.given_offset_s, remarks=remarks)


def track_remarks(removal: Removal | None) -> tuple[str, ...]:
    """What became of the track in a take, in a sentence; nothing where none was given."""
    if removal is None:
        return ()
    if removal.confidence == 0.0:
        return ("The track is not heard in this take, so nothing was taken out.",)
    begins = f"{removal.lag_s:.3f} s into" if removal.lag_s >= 0 else f"{-removal.lag_s:.3f} s before"
    return (f"The track is heard in this take (it begins {begins} it) and was taken out.",)

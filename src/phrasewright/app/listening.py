"""Listen to takes from files: for each one a JSON file with every note and finding."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from phrasewright.app.assignment import Assignment, AssignmentError, assignment_of
from phrasewright.app.fingering import check_names, make_folder, wished_instrument
from phrasewright.app.known_track import KnownTrack, TakenOut, lesson_tracks, take_out, track_file
from phrasewright.app.review import Review, review, review_in_bars
from phrasewright.app.take_json import take_json
from phrasewright.app.take_report import report_content
from phrasewright.engrave.report.page import report_page
from phrasewright.engrave.report.sheet import report_pdf
from phrasewright.errors import PhrasewrightError
from phrasewright.listen.take_file import read_take
from phrasewright.neck.instrument import Instrument
from phrasewright.sound.encode import write_bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ListenWish:
    """What is known of takes. played_on: the lesson's instrument where there is one; track: what they were played to.

    given_offset_s: where the first bar begins in them, None = told from the takes; alone: no track is in them.
    """

    played_on: Instrument
    assignment: Assignment | None = None
    track: Path | None = None
    given_offset_s: float | None = None
    alone: bool = False

    def tracks(self) -> tuple[KnownTrack, ...]:
        """What may be heard in the takes besides the player. Raises PhrasewrightError for a file that is none."""
        if self.track is not None:
            return (track_file(self.track),)
        return () if self.alone or self.assignment is None else lesson_tracks(self.assignment)


def listen_wish(
    lesson: Path | None,
    *,
    exercise: str | None = None,
    tempo_bpm: float | None = None,
    offset_s: float | None = None,
    track: Path | None = None,
    alone: bool = False,
    instrument: str | None = None,
    tuning: str | None = None,
    capo: int = 0,
) -> ListenWish:
    """A wish from the words of a command. Raises AssignmentError, LessonError, OutputError, InstrumentWishError."""
    if alone and track is not None:
        raise AssignmentError("A take that has no track in it needs none.", hint="Leave out --alone or --track.")
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
        played_on=assignment.plan.lesson.instrument,
        assignment=assignment,
        track=track,
        given_offset_s=offset_s,
        alone=alone,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardFile:
    """What became of one take. review: what was heard; written: its files; none of both when ``error`` says why.

    The review has let go of the removal, whose sound is as long as the take: many takes are kept at once.
    """

    source: Path
    review: Review | None = None
    written: tuple[Path, ...] = ()
    error: PhrasewrightError | None = None


def listen_to(
    sources: Sequence[Path],
    out: Path,
    wish: ListenWish,
    *,
    title: str | None = None,
    done: Callable[[Path], None] = lambda _: None,
    told: Callable[[float, str], None] = lambda _share, _words: None,
) -> list[HeardFile]:
    """Listen to every take and write its files into ``out``; a take that fails does not stop the others.

    title: of the reports, None = each take's own name. done: told each file when it is finished; told: how much of a
    take is done, 0 to 1, and what is done now. Raises OutputError when two takes would be written to one name, the
    folder cannot be made or the track cannot be opened, RecordingError when it is no recording.
    """
    check_names(sources)
    make_folder(out)
    known = wish.tracks()
    found = []
    for source in sources:
        found.append(_listen_to(source, out, wish, known, title or source.stem, told))
        done(source)
    return found


def _listen_to(
    source: Path,
    out: Path,
    wish: ListenWish,
    tracks: Sequence[KnownTrack],
    title: str,
    told: Callable[[float, str], None],
) -> HeardFile:
    try:
        told(0.1, "reading the take")
        take = read_take(source)
        told(0.2, "looking for the track" if tracks else "listening to every note")
        taken_out = take_out(take.audio, tracks)
        told(0.4, "listening to every note")
        found = _review(taken_out, wish, (*take.remarks, *track_remarks(taken_out, was_named=wish.track is not None)))
        told(0.8, "drawing the report")
        report = report_content(found, take.audio, name=title)
        files = {
            out / f"{source.stem}.json": take_json(found).encode(),
            out / f"{source.stem}.html": report_page(report),
            out / f"{source.stem}.pdf": report_pdf(report),
        }
        for path, content in files.items():
            write_bytes(path, content)
    except PhrasewrightError as error:
        return HeardFile(source=source, error=error)
    return HeardFile(source=source, review=replace(found, removal=None), written=tuple(files))


def _review(taken_out: TakenOut, wish: ListenWish, remarks: tuple[str, ...]) -> Review:
    removal = None if taken_out.track is None else taken_out.removal
    audio = taken_out.removal.audio
    if wish.assignment is None:
        return review(audio, wish.played_on, removal=removal, remarks=remarks)
    tempo_bpm = None if taken_out.track is None else taken_out.track.tempo_bpm
    assignment = wish.assignment if tempo_bpm is None else wish.assignment.at(tempo_bpm)
    return review_in_bars(audio, assignment, removal=removal, given_offset_s=wish.given_offset_s, remarks=remarks)


def track_remarks(taken_out: TakenOut, *, was_named: bool) -> tuple[str, ...]:
    """What became of the track in a take, in a sentence; nothing where none was named and none is heard."""
    removal, track = taken_out.removal, taken_out.track
    if track is None:
        return ("The track is not heard in this take, so nothing was taken out.",) if was_named else ()
    which = "The track" if track.tempo_bpm is None else f"The track at {track.tempo_bpm:g} beats a minute"
    begins = f"{removal.lag_s:.3f} s into" if removal.lag_s >= 0 else f"{-removal.lag_s:.3f} s before"
    return (f"{which} is heard in this take (it begins {begins} it) and was taken out.",)

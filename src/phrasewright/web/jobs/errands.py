"""What the studio's jobs are about: from ids to files, and what is remembered when they end."""

from __future__ import annotations

from phrasewright.app.lesson_files import PACKS
from phrasewright.app.pack import sweep
from phrasewright.course.asked import Asked, all_asked, note_asked, note_begun, note_done
from phrasewright.course.take_files import TakeFiles
from phrasewright.course.takes import TakeState, all_takes, set_heard, take_by_id
from phrasewright.errors import PhrasewrightError
from phrasewright.web.guard.names import new_id
from phrasewright.web.jobs.told import JobKind, JobRequest, JobState, Listened, ListenRequest, PackRequest, Told
from phrasewright.web.lessons_known import Lessons
from phrasewright.web.studio import Studio

NOT_HEARD = "Nobody has listened to this take yet."


class StudioErrands:
    """The errands of one studio."""

    def __init__(self, studio: Studio) -> None:
        self._studio = studio
        self._lessons = Lessons(studio)
        self._files = TakeFiles(studio.home)

    def begin(self, asked: Asked) -> JobRequest:
        """What to ask a working process for. Raises PhrasewrightError when lesson or take are no more."""
        note_begun(self._studio.engine, asked.job_id)
        if asked.kind == JobKind.PACK:
            lesson = self._lessons.known_file(asked.subject)
            return PackRequest(lesson=lesson.resolve(), pack=self._lessons.pack_of(asked.subject).resolve())
        take = take_by_id(self._studio.engine, asked.subject)
        if take is None:
            raise PhrasewrightError("There is no such take.")
        self._files.adopt(take)
        return ListenRequest(
            lesson=self._lessons.known_file(take.lesson_id).resolve(),
            take=self._files.sound(take).resolve(),
            out=self._files.folder.resolve(),
            day=take.recorded_at[:10],
            piece=take.piece,
            tempo_bpm=take.tempo_bpm,
            offset_s=take.offset_s,
            alone=take.alone,
        )

    def settle(self, asked: Asked, told: Told) -> None:
        """Remember the end of a job; what a build that was ended left behind is removed."""
        if asked.kind == JobKind.PACK:
            if told.state is not JobState.DONE:
                self._sweep_pack(asked.subject)
        elif isinstance(told.result, Listened):
            set_heard(self._studio.engine, asked.subject, TakeState.HEARD, told.result.words)
        else:
            refusal = told.refusal
            words = NOT_HEARD if refusal is None else f"{refusal.message} {refusal.hint}".rstrip()
            set_heard(self._studio.engine, asked.subject, TakeState.FAILED, words)
        note_done(self._studio.engine, asked.job_id)

    def after_a_start(self) -> tuple[Asked, ...]:
        """Tidy what a studio that was killed left behind; what it had been asked for and had not done.

        Raises OutputError when something that was decided cannot be written.
        """
        self._studio.lessons.files.tidy()
        for pack in (self._studio.folder / PACKS).glob("*/"):
            sweep(pack)
        takes = all_takes(self._studio.engine)
        self._files.sweep(takes)
        asked = all_asked(self._studio.engine)
        known = {one.subject for one in asked}
        for take in takes:
            if take.state is TakeState.WAITING and take.id not in known:
                note_asked(self._studio.engine, listening(take.id, take.student_id))
        return all_asked(self._studio.engine)

    def _sweep_pack(self, lesson_id: str) -> None:
        if self._lessons.file_of(lesson_id) is not None:
            sweep(self._lessons.pack_of(lesson_id))


def listening(take_id: str, owner: str) -> Asked:
    """A listening to be asked for. owner: of the take."""
    return Asked(job_id=new_id(), kind=JobKind.LISTEN, subject=take_id, owner=owner)


def building(lesson_id: str) -> Asked:
    """A build to be asked for."""
    return Asked(job_id=new_id(), kind=JobKind.PACK, subject=lesson_id)

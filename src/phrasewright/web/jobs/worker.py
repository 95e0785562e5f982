"""``python -m phrasewright.web.jobs.worker``: one piece of heavy work, asked on stdin, told on stdout, then the end.

The word behind the command is for whoever looks at the list of processes. The process stands back behind all others,
so that pages stay quick, and ends with its whole group as soon as its stdin is closed: when the studio is killed,
nothing works on for nobody.
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TextIO

from phrasewright.errors import LessonError, PhrasewrightError
from phrasewright.web.answers import Refusal, problem_model
from phrasewright.web.jobs.told import (
    REQUEST,
    JobRequest,
    JobState,
    Listened,
    ListenRequest,
    PackBuilt,
    PackRequest,
    Probed,
    ProbeRequest,
    Told,
)

NICE = {"pack": 10, "listen": 10, "probe": 5}  # the higher, the further behind (POSIX nice, 0 to 19)
PR_SET_PDEATHSIG = 1  # linux/prctl.h
Tell = Callable[[float, str], None]


def main() -> None:
    """Do what stdin asks for."""
    _end_at_once_with_the_studio()
    asked = sys.stdin.buffer.readline()
    if not asked:  # the studio was gone before it could ask
        return
    request = REQUEST.validate_json(asked)
    threading.Thread(target=_end_with_the_studio, daemon=True).start()
    os.nice(NICE[request.kind])
    speaking, lock = _own_stdout(), threading.Lock()

    def say(told: Told) -> None:
        try:
            with lock:
                speaking.write(told.model_dump_json() + "\n")
                speaking.flush()
        except BrokenPipeError:  # the studio is gone
            _end_all()

    def tell(share: float, words: str) -> None:
        say(Told(state=JobState.RUNNING, share=share, words=words))

    try:
        result = _carry_out(request, tell)
        say(Told(state=JobState.DONE, share=1.0, words="done", result=result))
    except PhrasewrightError as error:
        refusal = _refusal(error, request)
        say(Told(state=JobState.FAILED, words=refusal.message, refusal=refusal))
    except MemoryError:
        refusal = Refusal(message="There was not enough memory for this.", hint="Close other programs, then try again.")
        say(Told(state=JobState.FAILED, words=refusal.message, refusal=refusal))


def _end_at_once_with_the_studio() -> None:
    """Linux ends us when the studio is gone, even in the middle of a long computation; elsewhere stdin alone tells."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


def _end_with_the_studio() -> None:
    """Wait for the end of stdin, then end this process and the engraver that it may have started."""
    while os.read(0, 4096):  # not through sys.stdin, whose lock a thread may not hold when Python ends
        pass
    _end_all()


def _end_all() -> None:
    if os.getpgrp() == os.getpid():
        os.killpg(os.getpid(), signal.SIGKILL)
    os._exit(1)


def _own_stdout() -> TextIO:
    """Where to tell; what a library prints goes to stderr from now on."""
    speaking = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return speaking


def _carry_out(request: JobRequest, tell: Tell) -> PackBuilt | Listened | Probed:
    if isinstance(request, PackRequest):
        return _build(request, tell)
    return _listen(request, tell) if isinstance(request, ListenRequest) else _probe(request)


class _Steps:
    """A build's progress as shares of its stages."""

    def __init__(self, tell: Tell) -> None:
        self._tell, self._lock = tell, threading.Lock()
        self._stages, self._done = 1, 0

    def begin(self, stages: int) -> None:
        """So many stages will be made."""
        self._stages = max(1, stages)

    def starting(self, words: str) -> None:
        """A stage starts."""
        self._tell(self._done / self._stages, words)

    def finished(self, words: str) -> None:
        """A stage is done."""
        with self._lock:
            self._done += 1
            self._tell(min(1.0, self._done / self._stages), words)


def _build(request: PackRequest, tell: Tell) -> PackBuilt:
    from phrasewright.app.build import build_pack

    tell(0.0, "reading the lesson")
    report = build_pack(request.lesson, request.pack, progress=_Steps(tell))
    return PackBuilt(made=list(report.made), kept=list(report.kept), files=len(report.manifest.files))


def _listen(request: ListenRequest, tell: Tell) -> Listened:
    tell(0.0, "reading the lesson")
    from phrasewright.app.listening import listen_to, listen_wish
    from phrasewright.app.take_view import view_text, view_words
    from phrasewright.sound.encode import write_bytes

    wish = listen_wish(
        request.lesson,
        exercise=request.piece or None,
        tempo_bpm=request.tempo_bpm,
        offset_s=request.offset_s,
        alone=request.alone,
    )
    line = None if wish.assignment is None else wish.assignment.line
    title = ", ".join(part for part in ("Own line" if line is None else line.title, request.day) if part)
    (heard,) = listen_to([request.take], request.out, wish, title=title, told=tell)
    if heard.review is None:
        raise heard.error or PhrasewrightError("This take could not be heard.")
    write_bytes(request.out / f"{request.take.stem}.view.json", view_text(heard.review).encode())
    return Listened(words=view_words(heard.review), notes=len(heard.review.hearing.notes))


def _probe(request: ProbeRequest) -> Probed:
    from phrasewright.listen.take_file import read_take

    take = read_take(request.take)
    return Probed(seconds=round(take.length_s, 3), remarks=list(take.remarks))


def _refusal(error: PhrasewrightError, request: JobRequest) -> Refusal:
    """What is wrong, without the places where things lie on this computer."""
    problems = [problem_model(one) for one in error.problems] if isinstance(error, LessonError) else []
    message, hint = error.message, error.hint
    for path, name in _names(request):
        message, hint = message.replace(str(path), name), hint.replace(str(path), name)
    return Refusal(message=message[:1].upper() + message[1:], hint=hint, problems=problems)


def _names(request: JobRequest) -> Iterator[tuple[Path, str]]:
    """Paths in the words of an error, the longest first, and what they are called there."""
    if not isinstance(request, PackRequest):
        yield request.take, "this recording"
    if isinstance(request, ListenRequest):
        yield request.out, "the folder of takes"
    if isinstance(request, PackRequest):
        yield request.pack, "the folder of packs"
    if not isinstance(request, ProbeRequest):
        yield request.lesson, "this lesson"
        yield request.lesson.parent, "the folder of lessons"


if __name__ == "__main__":
    main()

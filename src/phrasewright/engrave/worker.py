"""The music engraver in a process of its own.

The engraving library ends the whole process on some bad input, so it runs in a child that takes MEI on its standard
input and answers with SVG pages, one JSON object a line. A child that dies is reported as ``EngravingError`` and
replaced at the next call.

    with Engraver() as engraver:
        pages = engraver.pages(mei, {"pageWidth": 1800})
"""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from threading import Lock
from types import TracebackType
from typing import Any, Self

from phrasewright.errors import PhrasewrightError

Options = Mapping[str, int | float | bool | str]


class EngravingError(PhrasewrightError):
    """Music that the engraver could not draw."""

    exit_code = 3


class Engraver:
    """Owns one engraving process; started at the first call, stopped by ``close``. Safe to share between threads."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[str] | None = None
        self._lock = Lock()

    def pages(self, mei: str, options: Options) -> tuple[str, ...]:
        """SVG of every page of a piece. Raises EngravingError when it cannot be drawn."""
        return tuple(self._ask({"mei": mei, "options": dict(options), "want": "pages"}))

    def onsets(self, mei: str) -> dict[str, float]:
        """Onset in quarter notes of every element that sounds, by id. Raises EngravingError as ``pages`` does."""
        return dict(self._ask({"mei": mei, "options": {}, "want": "onsets"}))

    def close(self) -> None:
        """Stop the process; a later call starts another."""
        with self._lock:
            self._stop()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _ask(self, question: dict[str, object]) -> Any:
        with self._lock:
            line = _exchange(self._running(), json.dumps(question) + "\n")
            if not line:
                self._stop()
        if not line:
            hint = "Please report the lesson that it was drawing."
            raise EngravingError("The music engraver broke down on this music.", hint=hint)
        answer = json.loads(line)
        if answer["error"]:
            raise EngravingError(f"The music engraver refused this music: {answer['error']}.")
        return answer["answer"]

    def _running(self) -> subprocess.Popen[str]:
        if self._child is None or self._child.poll() is not None:
            command = [sys.executable, "-m", "phrasewright.engrave.worker_process"]
            pipe = subprocess.PIPE
            self._child = subprocess.Popen(
                command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True, encoding="utf-8"
            )
        return self._child

    def _stop(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        for stream in (child.stdin, child.stdout):
            if stream is not None:
                with suppress(BrokenPipeError):
                    stream.close()
        try:
            child.wait(timeout=2.0)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()


def _exchange(child: subprocess.Popen[str], line: str) -> str:
    """Send a line and wait for the answer; empty when the child is gone."""
    if child.stdin is None or child.stdout is None:
        return ""
    try:
        child.stdin.write(line)
        child.stdin.flush()
        return child.stdout.readline()
    except BrokenPipeError:
        return ""


@cache
def shared_engraver() -> Engraver:
    """The engraver of this process, for callers that do not keep their own; it stops when Python ends."""
    engraver = Engraver()
    atexit.register(engraver.close)
    return engraver

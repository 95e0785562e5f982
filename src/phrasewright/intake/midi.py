"""MIDI files: the notes of all tracks and channels but percussion, in seconds by the file's own tempo map.

A note struck again while it sounds ends there; one that is never released ends with the file. Tracks of type 2 files
follow no common clock and are read as if they began together.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from typing import TypeVar

import mido

from phrasewright.errors import NoteFileError, Problem
from phrasewright.neck.fingering.line import LineNote

PERCUSSION = 9  # channel, counted from 0
DEFAULT_TEMPO = 500_000  # microseconds a quarter note: 120 bpm, as the standard says
_HINT = "Save it again with the program that made it."

_Result = TypeVar("_Result")


def read_midi(content: bytes, file: str) -> tuple[LineNote, ...]:
    """The notes by onset, then pitch. Raises NoteFileError."""
    midi = _understood(lambda: mido.MidiFile(file=io.BytesIO(content)), file)
    timed = _understood(lambda: list(_timed(midi)), file)
    return tuple(sorted(_notes(timed), key=lambda note: (note.onset_s, note.pitch_midi)))


def _understood(read: Callable[[], _Result], file: str) -> _Result:
    """What ``read`` gives; mido tells broken files by many kinds of error."""
    try:
        return read()
    except (OSError, EOFError, ValueError, KeyError, IndexError, TypeError, ZeroDivisionError) as error:
        words = str(error) or "it ends too early"
        raise NoteFileError(file, Problem(what=f"this is no whole MIDI file ({words})", hint=_HINT)) from error


def _timed(midi: mido.MidiFile) -> Iterator[tuple[float, mido.Message]]:
    """(seconds, message) of all tracks merged."""
    if midi.ticks_per_beat <= 0:
        raise ValueError(f"a beat of {midi.ticks_per_beat} ticks")
    tempo, now_s = DEFAULT_TEMPO, 0.0
    for message in mido.merge_tracks(midi.tracks):
        now_s += mido.tick2second(message.time, midi.ticks_per_beat, tempo)
        if message.type == "set_tempo":
            tempo = message.tempo
        yield now_s, message


def _notes(timed: list[tuple[float, mido.Message]]) -> Iterator[LineNote]:
    sounding: dict[tuple[int, int], float] = {}
    for now_s, message in timed:
        if message.type not in ("note_on", "note_off") or message.channel == PERCUSSION:
            continue
        key = message.channel, message.note
        if key in sounding:
            yield _note(key, sounding.pop(key), now_s)
        if message.type == "note_on" and message.velocity:
            sounding[key] = now_s
    for key, onset_s in sounding.items():
        yield _note(key, onset_s, timed[-1][0])


def _note(key: tuple[int, int], onset_s: float, end_s: float) -> LineNote:
    return LineNote(onset_s=onset_s, duration_s=end_s - onset_s, pitch_midi=key[1])

"""Tuning: the whole guitar against A4 = 440 Hz, and one string against the others (``hear/tuning.py``).

A guitar half a semitone off cannot be told from one off the other way. A string is known only as well as the places
of its notes are; of several that are off, the worst is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import log2

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import mean_above
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.tell import cents_words, tell
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.listen.hear.tuning import StringTuning, TuningHeard, tuning_of


def tuning(playing: Playing) -> Iterator[Finding]:
    """What is worth saying about the tuning."""
    heard = tuning_of([placed.note for placed in playing.placed], [placed.place for placed in playing.placed])
    if heard is None or heard.notes < THRESHOLDS["out-of-tune"].least:
        return
    off = [string for string in heard.strings if string.is_off and string.notes >= THRESHOLDS["string-off"].least]
    if off:
        yield from _string(playing, max(off, key=lambda string: abs(string.cents)))
    yield from _whole(playing, heard, strings_agree=not off)


def _whole(playing: Playing, heard: TuningHeard, *, strings_agree: bool) -> Iterator[Finding]:
    off = (heard.cents - cents_of(playing.take.a4_hz) + 50.0) % 100.0 - 50.0
    size, low = abs(off), off < 0
    yield from tell(
        playing,
        "out-of-tune",
        sure=mean_above(size, THRESHOLDS["out-of-tune"].limit, heard.error_cents),
        measured=size,
        size=size,
        unit="cents",
        said=f"Your guitar is tuned about {cents_words(size)} {'low' if low else 'high'}, all strings alike."
        if strings_agree
        else f"Your guitar is tuned about {cents_words(size)} {'low' if low else 'high'} on the whole.",
        try_next="Tune up before the next take, and check once more after five minutes of playing.",
    )
    if strings_agree:
        yield from tell(
            playing,
            "in-tune",
            sure=mean_above(THRESHOLDS["in-tune"].limit, size, heard.error_cents),
            measured=size,
            size=size,
            unit="cents",
            said="Your guitar is well in tune.",
            try_next="Keep on tuning before every take.",
        )


def cents_of(a4_hz: float) -> float:
    """How far a concert pitch lies above 440 Hz."""
    return 1200.0 * log2(a4_hz / 440.0)


def _string(playing: Playing, string: StringTuning) -> Iterator[Finding]:
    size, low = abs(string.cents), string.cents < 0
    name = _name(playing, string.string)
    on = [
        at
        for at, placed in enumerate(playing.placed)
        if placed.place is not None and placed.place.string == string.string
    ]
    yield from tell(
        playing,
        "string-off",
        sure=mean_above(size, THRESHOLDS["string-off"].limit, string.error_cents),
        measured=size,
        size=size,
        unit="cents",
        notes=playing.told(on),
        said=f"{name} seems about {cents_words(size)} {'lower' if low else 'higher'} than the others.",
        try_next=f"Tune {name[0].lower()}{name[1:]} {'up' if low else 'down'} a little, then compare it with the next.",
    )


def _name(playing: Playing, string: int) -> str:
    open_strings = playing.take.open_strings
    if string > len(open_strings):
        return f"String {string}"
    return f"String {string} ({open_strings[string - 1].name.printed})"

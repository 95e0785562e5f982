"""How a note is played, as sound needs it: where its pitch comes from, how long the string has rung, what damps it.

A ``Touch`` of the score says what the hands do; a ``Gesture`` adds what it takes in seconds. Pitch always arrives at
the written one. A bend rises along half a cosine from the fret that is held. A slide begins at the onset on the fret it
comes from and passes every fret on the way, as a string over frets does. Vibrato sets in after a fifth of a second and
grows; on a fretted string it is made by pushing the string aside, which can only tighten it, so pitch swings between
the fretted note and ``VIBRATO_CENTS`` over it; on a bent string, which the hand slackens and pushes again, it swings
below the note reached. Sources: common practice; the rate lies in the 5 to 6 Hz that singers and players use (from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.score.technique import Damping, Start
from phrasewright.score.touch_rules import handed_on, source_of

if TYPE_CHECKING:
    from phrasewright.score.model import Note
    from phrasewright.sound.events import TimedNote
    from phrasewright.sound.modes import FloatArray

VIBRATO_HZ, VIBRATO_CENTS = 5.5, 35.0
VIBRATO_AFTER_S, VIBRATO_GROWS_S = 0.2, 0.35
SHORTEST_BEND_S = 0.06
SLIDE_S, SLIDE_S_PER_FRET, LONGEST_SLIDE_S = 0.05, 0.01, 0.12
FRET_SHARE = 0.5  # of the time on a fret that goes by in reaching it
TRAVEL_STEP_S, RUNG_STEP_S, LONGEST_RUNG_S = 0.01, 0.05, 1.5  # rounded, so that renders can be shared


@dataclass(frozen=True, slots=True, kw_only=True)
class Gesture:
    """How one note is played.

    from_cents: pitch at the onset against the written one, negative below; travel_s: time until it is reached, 0 for a
    steady pitch; rung_s: how long a string that is not struck again has rung since it was.
    """

    start: Start = Start.PICKED
    from_cents: int = 0
    travel_s: float = 0.0
    rung_s: float = 0.0
    vibrato: bool = False
    damping: Damping = Damping.OPEN

    def __str__(self) -> str:
        """A short name, e.g. ``slid -200 0.07 0.45``; empty for a plain stroke."""
        if self == PLAIN_GESTURE:
            return ""
        shaken = ("vibrato",) if self.vibrato else ()
        damped = (str(self.damping),) if self.damping is not Damping.OPEN else ()
        way = (f"{self.from_cents:+d}", f"{self.travel_s:g}") if self.from_cents else ()
        rung = (f"{self.rung_s:g}",) if self.rung_s else ()
        return " ".join((str(self.start), *way, *rung, *shaken, *damped))

    @property
    def is_steady(self) -> bool:
        """True when pitch does not move."""
        return not self.vibrato and not self.from_cents


PLAIN_GESTURE = Gesture()


def with_gestures(notes: Sequence[Note], timed: Sequence[TimedNote]) -> tuple[TimedNote, ...]:
    """Timed notes with the gestures of the notes they time, one each, in the same order."""
    passed = handed_on(notes)
    rung_s: dict[int, float] = {}
    made = []
    for index, (note, time) in enumerate(zip(notes, timed, strict=True)):
        source = source_of(notes, index) if note.touch.is_legato else None
        if source is not None:
            rung_s[index] = rung_s.get(source, 0.0) + time.onset_s - timed[source].onset_s
        frets = _frets_between(note, None if source is None else notes[source])
        gesture = _gesture(note, frets, time.duration_s, rung_s.get(index, 0.0))
        made.append(replace(time, gesture=gesture, handed_on=index in passed))
    return tuple(made)


def _frets_between(note: Note, source: Note | None) -> int:
    """Frets from the source's place to the note's, 0 without them."""
    if source is None or source.place is None or note.place is None:
        return 0
    return source.place.fret - note.place.fret


def _gesture(note: Note, frets: int, duration_s: float, rung_s: float) -> Gesture:
    touch = note.touch
    plain = Gesture(
        start=touch.start,
        rung_s=min(_stepped(rung_s, RUNG_STEP_S), LONGEST_RUNG_S),
        vibrato=touch.vibrato,
        damping=touch.damping,
    )
    if touch.bend is not None:
        travel_s = max(float(touch.bend.arrives) * duration_s, SHORTEST_BEND_S)
        return replace(plain, from_cents=-100 * touch.bend.semitones, travel_s=_stepped(travel_s, TRAVEL_STEP_S))
    if touch.start is Start.SLID and frets:
        travel_s = min(SLIDE_S + SLIDE_S_PER_FRET * abs(frets), LONGEST_SLIDE_S, duration_s / 2)
        return replace(plain, from_cents=100 * frets, travel_s=max(_stepped(travel_s, TRAVEL_STEP_S), TRAVEL_STEP_S))
    return plain


def _stepped(time_s: float, step_s: float) -> float:
    return round(round(time_s / step_s) * step_s, 3)


def cents_at(gesture: Gesture, time_s: FloatArray) -> FloatArray:
    """Pitch against the written one at times from the onset. time_s: float64 (n,); returns float64 (n,), in cents."""
    cents = _way(gesture, time_s)
    return cents + _vibrato(gesture, time_s) if gesture.vibrato else cents


def _way(gesture: Gesture, time_s: FloatArray) -> FloatArray:
    if not gesture.from_cents:
        return np.zeros(len(time_s))
    share = np.clip(time_s / gesture.travel_s, 0.0, 1.0)
    if gesture.start is Start.SLID:
        share = _over_frets(share, abs(gesture.from_cents) // 100)
    else:
        share = 0.5 - 0.5 * np.cos(np.pi * share)
    return np.asarray(gesture.from_cents * (1.0 - share))


def _over_frets(share: FloatArray, frets: int) -> FloatArray:
    """A way over so many frets: a while on each, then quickly to the next; float64 (n,) in 0..1."""
    fret, within = np.divmod(share * frets, 1.0)
    moving = np.clip((within - (1.0 - FRET_SHARE)) / FRET_SHARE, 0.0, 1.0)
    return np.asarray((fret + 0.5 - 0.5 * np.cos(np.pi * moving)) / frets)


def _vibrato(gesture: Gesture, time_s: FloatArray) -> FloatArray:
    since_s = time_s - (VIBRATO_AFTER_S + gesture.travel_s)
    size = VIBRATO_CENTS * np.clip(since_s / VIBRATO_GROWS_S, 0.0, 1.0)
    swing = size * (0.5 - 0.5 * np.cos(2.0 * np.pi * VIBRATO_HZ * since_s))
    return np.asarray(-swing if gesture.start is Start.BENT else swing)

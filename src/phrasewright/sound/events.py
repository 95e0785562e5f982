"""Timed events: what a score asks for, in seconds.

The one step from written time (quarter notes) to performed time (seconds) for sound. Everything after it counts
seconds and samples. Rate: ``SAMPLE_RATE`` is 44,100 Hz. A bar loops cleanly when it is a whole number of samples;
with 44,100 = 2^2 3^2 5^2 7^2 that holds for 41 of the whole tempos from 40 to 220 bpm in 4/4 (60, 63, 70, 72, 80,
84, 90, 96, 100, 105, 108, 112, 120 ...) against 21 at 48,000 Hz, and it is what CDs and most players run at.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from phrasewright.band import drums
from phrasewright.score.model import Drum, DrumPart, Measure, Note, Part
from phrasewright.sound.gesture import PLAIN_GESTURE, Gesture, with_gestures

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from phrasewright.score.performance import Performance

SAMPLE_RATE = 44_100
STRUM_S = 0.007  # from string to string of a down-stroke (common practice: a strum takes 20..40 ms)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedNote:
    """A note in performed time. onset_s >= 0, duration_s > 0, velocity in (0, 1].

    handed_on: its string goes on sounding in the next note, so it ends there at once and is not damped.
    """

    onset_s: float
    duration_s: float
    pitch_midi: int
    velocity: float
    gesture: Gesture = PLAIN_GESTURE
    handed_on: bool = False

    def __post_init__(self) -> None:
        if self.onset_s < 0.0 or self.duration_s <= 0.0:
            raise ValueError(f"a note needs onset >= 0 s and duration > 0 s, got {self.onset_s}, {self.duration_s}")
        _check_velocity(self.velocity)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedHit:
    """A drum stroke in performed time. onset_s >= 0, velocity in (0, 1]."""

    onset_s: float
    drum: Drum
    velocity: float

    def __post_init__(self) -> None:
        if self.onset_s < 0.0:
            raise ValueError(f"a hit needs onset >= 0 s, got {self.onset_s}")
        _check_velocity(self.velocity)


def _check_velocity(velocity: float) -> None:
    if not 0.0 < velocity <= 1.0:
        raise ValueError(f"velocity must lie in (0, 1], got {velocity}")


def timed_notes(part: Part, performance: Performance, *, lead_in_s: float = 0.0) -> tuple[TimedNote, ...]:
    """The notes of a part as played, ``lead_in_s`` seconds later than the score's own zero."""
    plain = tuple(
        TimedNote(
            onset_s=lead_in_s + performance.seconds_at(note.onset),
            duration_s=performance.seconds_at(note.end) - performance.seconds_at(note.onset),
            pitch_midi=note.pitch.midi,
            velocity=note.velocity,
        )
        for note in part.notes
    )
    return with_gestures(part.notes, plain)


def strummed(notes: Sequence[TimedNote]) -> tuple[TimedNote, ...]:
    """Chords spread as a down-stroke spreads them: lowest pitch on time, each higher one ``STRUM_S`` later.

    Notes of equal onset are a chord; their ends stay where they were. Returns the notes by onset.
    """
    spread = []
    for _, chord in groupby(sorted(notes, key=lambda note: (note.onset_s, note.pitch_midi)), lambda note: note.onset_s):
        for string, note in enumerate(chord):
            late_s = min(string * STRUM_S, note.duration_s / 2)
            spread.append(replace(note, onset_s=note.onset_s + late_s, duration_s=note.duration_s - late_s))
    return tuple(sorted(spread, key=lambda note: note.onset_s))


def strum_delays_s(notes: Sequence[Note]) -> tuple[float, ...]:
    """How much later than written a strum lets each note sound, in s, in the order of the notes.

    For players that time notes themselves; ``strummed`` does the same to timed notes, save for very short ones.
    """
    below: Counter[Fraction] = Counter()
    delay_s = [0.0] * len(notes)
    for index in sorted(range(len(notes)), key=lambda index: (notes[index].onset, notes[index].pitch.midi)):
        delay_s[index] = below[notes[index].onset] * STRUM_S
        below[notes[index].onset] += 1
    return tuple(delay_s)


def timed_hits(kit: DrumPart, performance: Performance, *, lead_in_s: float = 0.0) -> tuple[TimedHit, ...]:
    """The strokes of the drums as played, ``lead_in_s`` seconds later than the score's own zero."""
    return tuple(
        TimedHit(onset_s=lead_in_s + performance.seconds_at(hit.onset), drum=hit.drum, velocity=hit.velocity)
        for hit in kit.hits
    )


def count_in(
    measures: Sequence[Measure], performance: Performance, *, bars: int = 1
) -> tuple[tuple[TimedHit, ...], float]:
    """The band's clicks on every tapped beat of ``bars`` bars; and the time they take in s. Counts are not swung.

    They go at the pace that the music begins with. Before a pick-up they go on through its bar, up to where it begins.
    """
    quarter_s = 60.0 / performance.tempo_bpm * performance.pace.rate_at(0.0)
    pickup = measures[0] if bars and measures[0].number == 0 and len(measures) > 1 else None
    meter = measures[1].meter if pickup else measures[0].meter
    length = bars * meter.bar + (meter.bar - pickup.meter.bar if pickup else 0)
    hits = tuple(
        TimedHit(onset_s=float(click.onset) * quarter_s, drum=click.drum, velocity=click.velocity)
        for click in drums.count_in(meter, bars + (pickup is not None))
        if click.onset < length
    )
    return hits, float(length) * quarter_s

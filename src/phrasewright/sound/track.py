"""A score and a performance to dry stems, with the places a loop needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from phrasewright.score.model import DrumPart, Part, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound.events import (
    SAMPLE_RATE,
    TimedNote,
    count_in,
    strum_delays_s,
    strummed,
    timed_hits,
    timed_notes,
)
from phrasewright.sound.render import render_hits, render_notes
from phrasewright.sound.sounds import MODELS, Sounds
from phrasewright.sound.voices import Voice

if TYPE_CHECKING:
    from phrasewright.sound.modes import AudioArray

STRUMMING = frozenset(voice for voice in Voice if voice.value.endswith("guitar"))
TAIL_S = 1.5  # room and last notes ring on after the score's end


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """Dry stems of one performance.

    dry: float32 (n,), the drums (n, 2), one for each role present; lead_in_s: where the score's zero lies.
    """

    dry: Mapping[PartRole, AudioArray]
    sample_rate: int
    lead_in_s: float
    performance: Performance

    def sample_at(self, time: Fraction) -> int:
        """Sample on which a written time in quarter notes falls."""
        return round((self.lead_in_s + self.performance.seconds_at(time)) * self.sample_rate)


def performed_notes(part: Part, performance: Performance, *, lead_in_s: float = 0.0) -> tuple[TimedNote, ...]:
    """The notes of a part as its instrument plays them: chords on a guitar are strummed, all else is as timed.

    Raises ValueError for a voice that is not in ``Voice``.
    """
    notes = timed_notes(part, performance, lead_in_s=lead_in_s)
    return strummed(notes) if Voice(part.voice) in STRUMMING else notes


def delays_s(part: Part) -> tuple[float, ...]:
    """How much later than written, in s, the part's instrument lets each note sound; for players that time notes
    themselves.

    Raises ValueError for a voice that is not in ``Voice``.
    """
    return strum_delays_s(part.notes) if Voice(part.voice) in STRUMMING else (0.0,) * len(part.notes)


def render_track(
    score: Score,
    performance: Performance,
    *,
    count_in_bars: int = 0,
    sample_rate: int = SAMPLE_RATE,
    seed: int = 0,
    sounds: Sounds = MODELS,
) -> Track:
    """Every part of a score as a dry stem. The count-in, if any, is played by the drums before the score's zero.

    sounds: where single notes and strokes come from. Parts of one role share a stem. Raises ValueError for a voice that
    is not in ``Voice``.
    """
    clicks, lead_in_s = count_in(score.measures, performance, bars=count_in_bars)
    length = round((lead_in_s + performance.seconds_at(score.end) + TAIL_S) * sample_rate)
    dry: dict[PartRole, AudioArray] = {}
    for number, part in enumerate(score.parts):
        notes = performed_notes(part, performance, lead_in_s=lead_in_s)
        stem = render_notes(
            notes, Voice(part.voice), length=length, sample_rate=sample_rate, seed=seed + number, sounds=sounds
        )
        dry[part.role] = dry[part.role] + stem if part.role in dry else stem
    if score.drums is not None or clicks:
        drums = score.drums or DrumPart(name="count-in", hits=())
        hits = clicks + timed_hits(drums, performance, lead_in_s=lead_in_s)
        dry[PartRole.DRUMS] = render_hits(hits, length=length, sample_rate=sample_rate, seed=seed, sounds=sounds)
    return Track(dry=dry, sample_rate=sample_rate, lead_in_s=lead_in_s, performance=performance)

"""A take as findings look at it: one line of pitches, phrases, steps in time, worked out once.

Notes that were hardly heard (confidence under ``BELIEVED``) say nothing; dead notes have no pitch and stay out of the
line. Phrases are those of motif spotting (``spot.line``). A rest is a silence of a quarter of a beat at least, and of
``REST_S``: less is how a note ends, not a rest (our design; docs/listening.md says how well ends are heard).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from phrasewright.listen.findings.take import Take
from phrasewright.listen.noticed import BELIEVED, noticeable_s
from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.line import Line, line_of
from phrasewright.listen.spot.use import MotifUse, motif_use
from phrasewright.score.model import Measure
from phrasewright.theory.chord import Chord

REST_S = 0.12
REST_BEATS = 0.25


@dataclass(frozen=True, kw_only=True, eq=False)
class Playing:
    """A take, ready to be asked. placed: notes of the line; numbers: of each among the notes of the alignment."""

    take: Take
    placed: tuple[PlacedNote, ...]
    numbers: tuple[int, ...]
    line: Line

    @property
    def pitches(self) -> list[int]:
        """Whole semitones, the tuning of the take taken out."""
        return [int(pitch) for pitch in self.line.pitch_midi]

    @cached_property
    def beat_s(self) -> float:
        """How long a tapped beat lasts."""
        pulse = self.take.alignment.measures[0].meter.pulse if self.take.alignment.measures else Fraction(1)
        return 60.0 / self.take.alignment.clock.tempo_bpm * float(pulse)

    @property
    def is_compound(self) -> bool:
        """True where beats fall into three."""
        return any(bar.meter.is_compound for bar in self.take.alignment.measures[:1])

    @cached_property
    def phrases(self) -> tuple[range, ...]:
        """Positions in the line, phrase by phrase."""
        starts = [at for at, begins in enumerate(self.line.begins_phrase) if begins]
        return tuple(range(a, b) for a, b in pairwise([*starts, len(self.placed)]))

    @cached_property
    def last_notes(self) -> tuple[int, ...]:
        """Positions of the last notes of phrases of two notes or more."""
        return tuple(phrase[-1] for phrase in self.phrases if len(phrase) > 1)

    @cached_property
    def steps(self) -> tuple[tuple[int, int], ...]:
        """Positions of neighbours within a phrase."""
        return tuple(pair for phrase in self.phrases for pair in pairwise(phrase))

    @property
    def spottable(self) -> int:
        """How many notes motifs were looked for in: all that have a pitch."""
        return sum(not placed.note.is_dead for placed in self.take.alignment.notes)

    @cached_property
    def motif_use(self) -> MotifUse | None:
        """How the shelf was used; None where no motifs were looked for."""
        spotting = self.take.spotting
        return None if spotting is None else motif_use(spotting.sightings, self.take.shelf, self.spottable)

    @cached_property
    def bars(self) -> tuple[Measure, ...]:
        """The bars from the first note's to the last one's."""
        if not self.placed:
            return ()
        first, last = self.placed[0].at, self.placed[-1].at
        return tuple(bar for bar in self.take.alignment.measures if bar.onset <= last and bar.end > first)

    @cached_property
    def rests_s(self) -> tuple[tuple[float, float], ...]:
        """From when to when nothing sounds, from the first bar's start to the last one's end."""
        if not self.bars:
            return ()
        seconds_at = self.take.alignment.clock.seconds_at
        until_s, rests = seconds_at(self.bars[0].onset), []
        for note in self.placed:
            rests.append((until_s, note.note.onset_s))
            until_s = max(until_s, note.note.offset_s)
        rests.append((until_s, seconds_at(self.bars[-1].end)))
        least_s = max(REST_S, REST_BEATS * self.beat_s)
        return tuple((a, b) for a, b in rests if b - a >= least_s)

    def silence_in(self, bar: Measure) -> float:
        """Share of a bar in which the player rests."""
        start_s, end_s = (self.take.alignment.clock.seconds_at(time) for time in (bar.onset, bar.end))
        silent_s = sum(max(0.0, min(b, end_s) - max(a, start_s)) for a, b in self.rests_s)
        return silent_s / (end_s - start_s)

    @property
    def noticeable_s(self) -> float:
        """The least shift of a note that ears notice here."""
        return noticeable_s(self.line.usual_step_s)

    def chord_under(self, position: int) -> Chord | None:
        """The chord that holds in the middle of a note: one played ahead of a change belongs to what follows."""
        placed = self.placed[position]
        quarters = placed.note.duration_s * self.take.alignment.clock.tempo_bpm / 60.0
        middle = placed.at + Fraction(quarters / 2.0)
        spans = (span for bar in self.take.alignment.measures for span in bar.chords)
        return next((span.chord for span in spans if span.onset <= middle < span.end), placed.chord)

    @property
    def trust_in_time(self) -> float:
        """How far places in the bars may be believed."""
        return self.take.alignment.clock.confidence

    def told(self, positions: Sequence[int]) -> tuple[int, ...]:
        """Numbers among the notes of the alignment, of positions in the line."""
        return tuple(self.numbers[position] for position in positions)


def playing_of(take: Take) -> Playing:
    """A take, ready to be asked."""
    kept = [
        (number, placed)
        for number, placed in enumerate(take.alignment.notes)
        if placed.note.confidence >= BELIEVED and not placed.note.is_dead
    ]
    placed = tuple(note for _, note in kept)
    return Playing(
        take=take,
        placed=placed,
        numbers=tuple(number for number, _ in kept),
        line=line_of(placed, take.hearing.tuning_cents or 0.0),
    )

"""A take laid over its bars: when the music begins, how fast it goes, and the count each note was meant for.

What tells the offset, most trusted first: a given one, the lesson's track heard in the take, a written line, the bare
counts with a prior (``search.OffsetPrior``). Against a given offset or a track the clock is theirs, so that lateness
and drift of the player show; a player who leaves the track by more than a quarter of a beat, and plays more evenly for
it, is followed at the own tempo. Otherwise the clock is laid by the notes themselves. Onsets are never moved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.listen.align.bars import spot_of
from phrasewright.listen.align.even import clock_s
from phrasewright.listen.align.laid import laid
from phrasewright.listen.align.pairing import Pair, paired, whole_midi
from phrasewright.listen.align.search import Guess, OffsetPrior, find_beat
from phrasewright.listen.align.settle import Settled, settled
from phrasewright.listen.align.written import find_line
from phrasewright.listen.heard import HeardNote
from phrasewright.listen.placed import Alignment, OffsetSource, PlacedNote, TakeClock
from phrasewright.score.model import Measure, Note, Part
from phrasewright.score.performance import Performance
from phrasewright.units import SEMITONES_PER_OCTAVE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]

LATENCY_S = 0.1  # the middle of what devices have: see ``search.OffsetPrior``
PLAYER_SD_S, PLAYER_REACH_S, PLAYER_STRETCH_SD = 0.03, 0.2, 0.004  # of a player around a track that is heard
LOST_BEATS = 0.25
LEFT_SPREAD = 0.75  # an own tempo is believed where it makes the notes so much more even than the track's
LINE_SHARE, LINE_NOTES = 0.4, 4  # a line is found when so much of it, or of the take, has its right pitch
FOLLOWED_BEATS = Fraction(1, 2)  # a note further off its written place is counted where it lies
SURE_BEAT = 0.9

UNSURE = (
    "Where the beat lies is told from the notes alone here, and not for sure: all of it may be half a beat off. Say "
    "when the music begins, or play so that the track can be heard in the take."
)
NO_LINE = "Too little of the written line was found in the take to tell by it where the music begins."
OWN_TEMPO = "The take leaves the track. It is laid over the bars at its own tempo, {bpm:.1f} beats a minute."


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackOffset:
    """Where the lesson's track was found in a take. offset_s: of the score's zero, count-in included."""

    offset_s: float
    stretch: float = 1.0
    confidence: float = 1.0


def expected_after(count_in_s: float) -> OffsetPrior:
    """What to expect of a take that was recorded while a track with such a count-in ran from its start."""
    return OffsetPrior(expected_s=count_in_s + LATENCY_S)


def align(
    notes: Sequence[HeardNote],
    measures: Sequence[Measure],
    performance: Performance,
    *,
    written: Part | None = None,
    given_offset_s: float | None = None,
    track: TrackOffset | None = None,
    expected: OffsetPrior | None = None,
    tuning_cents: float = 0.0,
) -> Alignment:
    """The notes of a take in their places. notes: by onset; expected: None = a take that begins with the score."""
    prior = expected or expected_after(0.0)
    reference = _reference(performance, given_offset_s, track)
    if not notes:
        clock = reference or TakeClock(
            performance=performance, offset_s=prior.expected_s, source=OffsetSource.GRID, confidence=0.0
        )
        return Alignment(measures=tuple(measures), clock=clock, notes=())
    onsets_s = np.array([note.onset_s for note in notes])
    weights = np.array([note.confidence for note in notes])
    line = written.notes if written else ()
    guess, pairs, remarks = _guessed(notes, onsets_s, measures, performance, line, reference, prior, tuning_cents)
    known = _known(pairs, line, notes, guess.clock, tuning_cents)
    found = settled(onsets_s, weights, guess.clock, measures, known=known)
    if reference is None:
        clock = replace(found.clock, confidence=guess.confidence)
    elif not _leaves(reference, found):
        clock = replace(reference, performance=found.clock.performance)
    else:
        with_track = replace(guess.clock, stretch=reference.stretch)
        held = settled(onsets_s, weights, with_track, measures, known=known, at_its_tempo=True)
        if held.spread_s * LEFT_SPREAD <= found.spread_s:
            found, clock = held, replace(reference, performance=held.clock.performance)
        else:
            clock = replace(found.clock, offset_s=reference.offset_s, confidence=reference.confidence)
            remarks = (*remarks, OWN_TEMPO.format(bpm=clock.tempo_bpm))
    return Alignment(
        measures=tuple(measures), clock=clock, notes=_placed(notes, found.counts, clock, measures), remarks=remarks
    )


def _reference(performance: Performance, given_offset_s: float | None, track: TrackOffset | None) -> TakeClock | None:
    """The clock that is known beforehand. A given offset goes over the track's; the track still tells the stretch."""
    stretch = track.stretch if track else 1.0
    if given_offset_s is not None:
        return TakeClock(performance=performance, offset_s=given_offset_s, stretch=stretch)
    if track is None:
        return None
    return TakeClock(
        performance=performance,
        offset_s=track.offset_s,
        stretch=stretch,
        source=OffsetSource.TRACK,
        confidence=track.confidence,
    )


def _guessed(
    notes: Sequence[HeardNote],
    onsets_s: FloatArray,
    measures: Sequence[Measure],
    performance: Performance,
    line: Sequence[Note],
    reference: TakeClock | None,
    prior: OffsetPrior,
    tuning_cents: float,
) -> tuple[Guess, list[Pair], tuple[str, ...]]:
    """A first clock, the pairs with a written line that belong to it, and remarks."""
    remarks: tuple[str, ...] = ()
    if line:
        start = reference or find_line(line, notes, performance, expected_s=prior.expected_s, tuning_cents=tuning_cents)
        by_line = _by_line(notes, onsets_s, line, start, tuning_cents) if start else None
        if by_line:
            return (*by_line, remarks)
        remarks = (NO_LINE,) if reference is None else ()
    if reference is not None:
        near = OffsetPrior(
            expected_s=reference.offset_s,
            sd_s=PLAYER_SD_S,
            reach_s=PLAYER_REACH_S,
            stretch=reference.stretch,
            stretch_sd=PLAYER_STRETCH_SD,
        )
        return find_beat(onsets_s, measures, performance, near, source=reference.source), [], remarks
    guess = find_beat(onsets_s, measures, performance, prior)
    return guess, [], (*remarks, UNSURE) if guess.confidence < SURE_BEAT else remarks


def _by_line(
    notes: Sequence[HeardNote], onsets_s: FloatArray, line: Sequence[Note], start: TakeClock, tuning_cents: float
) -> tuple[Guess, list[Pair]] | None:
    """The clock on which a written line lies, None when too little of the line is there."""
    clock, pairs = start, paired(line, notes, start, tuning_cents=tuning_cents)
    for _ in range(3):
        near = _right(pairs, line, notes, clock, tuning_cents)
        if len(near) < max(LINE_NOTES, LINE_SHARE * min(len(line), len(notes))):
            return None
        counts = [line[pair.written].onset for pair in near]
        heard = [pair.heard for pair in near]
        clock = laid(counts, onsets_s[heard], np.array([notes[at].confidence for at in heard]), clock).clock
        pairs = paired(line, notes, clock, tuning_cents=tuning_cents)
    share = len(_right(pairs, line, notes, clock, tuning_cents)) / min(len(line), len(notes))
    return Guess(clock=clock, confidence=min(1.0, share)), pairs


def _right(
    pairs: Sequence[Pair], line: Sequence[Note], notes: Sequence[HeardNote], clock: TakeClock, tuning_cents: float
) -> list[Pair]:
    """The pairs that tell of the clock: right pitch in any octave, near enough to their time."""
    most_s = float(FOLLOWED_BEATS) * 60.0 / clock.tempo_bpm
    return [
        pair
        for pair in pairs
        if abs(pair.lag_s) <= most_s
        and not notes[pair.heard].is_dead
        and (whole_midi(notes[pair.heard], tuning_cents) - line[pair.written].pitch.midi) % SEMITONES_PER_OCTAVE == 0
    ]


def _known(
    pairs: Sequence[Pair], line: Sequence[Note], notes: Sequence[HeardNote], clock: TakeClock, tuning_cents: float
) -> dict[int, Fraction]:
    """Counts of the notes whose written ones are known."""
    return {pair.heard: line[pair.written].onset for pair in _right(pairs, line, notes, clock, tuning_cents)}


def _leaves(reference: TakeClock, found: Settled) -> bool:
    """Whether the tempo found takes some note too far from the known clock."""
    swings_alike = replace(reference, performance=found.clock.performance)
    apart_s = np.abs(clock_s(found.counts, found.clock) - clock_s(found.counts, swings_alike))
    return float(apart_s.max()) > LOST_BEATS * 60.0 / reference.tempo_bpm


def _placed(
    notes: Sequence[HeardNote], counts: Sequence[Fraction], clock: TakeClock, measures: Sequence[Measure]
) -> tuple[PlacedNote, ...]:
    placed = []
    for note, at in zip(notes, counts, strict=True):
        if note.is_dead and not measures[0].onset <= at < measures[-1].end:
            continue
        spot = spot_of(at, measures)
        deviation_s = note.onset_s - clock.seconds_at(at)
        placed.append(
            PlacedNote(
                note=note,
                at=at,
                bar=spot.bar,
                beat=spot.beat,
                word=spot.word,
                deviation_s=deviation_s,
                chord=spot.chord,
            )
        )
    return tuple(placed)

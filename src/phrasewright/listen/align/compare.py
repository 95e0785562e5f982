"""A take against a written line: what was played, missed, added, wrong, early or late.

Notes are paired by ``pairing``. A note is early or late from three times what ears notice in a steady row on (6 ms, or
2.5 per cent of the time since the written note before it: Friberg and Sundberg 1995, docs/sources.md 5), and never
within 35 ms, the spread of good soloists around the beat. After a phrase repeated or left out, notes are judged against
their own new place, not against the clock they left.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from phrasewright.listen.align.pairing import Pair, paired, whole_midi
from phrasewright.listen.noticed import noticeable_s
from phrasewright.listen.placed import Alignment, Comparison, PlacedNote, TakeClock, Verdict, WrittenOutcome
from phrasewright.score.model import Note, Part
from phrasewright.units import SEMITONES_PER_OCTAVE

TOLD_TIMES = 3.0
SOLOISTS_S = 0.035
MOVED_S = 0.35  # a change of the lag by more than this is a jump, not a late note


def compare(alignment: Alignment, written: Part, *, tuning_cents: float = 0.0) -> Comparison:
    """What became of every written note, and what was played beside them."""
    clock, line = alignment.clock, written.notes
    pairs = paired(line, [placed.note for placed in alignment.notes], clock, tuning_cents=tuning_cents)
    own_lag_s = _own_lags_s(pairs)
    limits_s = told_from_s(line, clock)
    partner = {pair.written: (pair, own_lag_s[at]) for at, pair in enumerate(pairs)}
    outcomes = []
    for at, note in enumerate(line):
        if at not in partner:
            outcomes.append(WrittenOutcome(written=note, verdict=Verdict.MISSED, heard=None))
            continue
        pair, base_s = partner[at]
        placed, off_s = alignment.notes[pair.heard], pair.lag_s - base_s
        verdict = _verdict(note, placed, off_s, limits_s[at], tuning_cents)
        outcomes.append(WrittenOutcome(written=note, verdict=verdict, heard=placed, deviation_s=off_s))
    used = {pair.heard for pair in pairs}
    added = [placed for at, placed in enumerate(alignment.notes) if at not in used and not placed.note.is_dead]
    return Comparison(outcomes=tuple(outcomes), added=tuple(added))


def told_from_s(line: Sequence[Note], clock: TakeClock) -> list[float]:
    """From which deviation on each note of a line is called early or late."""
    at_s = [clock.seconds_at(note.onset) for note in line]
    gaps_s = [b - a for a, b in pairwise(at_s)]
    return [told_after_s(gap_s) for gap_s in (gaps_s[0] if gaps_s else 0.0, *gaps_s)]


def told_after_s(gap_s: float) -> float:
    """From which deviation on a note is called early or late, so long after the one before it."""
    return max(TOLD_TIMES * noticeable_s(gap_s), SOLOISTS_S)


def _verdict(note: Note, placed: PlacedNote, off_s: float, limit_s: float, tuning_cents: float) -> Verdict:
    steps = 0 if placed.note.is_dead else whole_midi(placed.note, tuning_cents) - note.pitch.midi
    if steps:
        return Verdict.WRONG_OCTAVE if steps % SEMITONES_PER_OCTAVE == 0 else Verdict.WRONG_PITCH
    if abs(off_s) <= limit_s:
        return Verdict.PLAYED
    return Verdict.LATE if off_s > 0.0 else Verdict.EARLY


def _own_lags_s(pairs: Sequence[Pair]) -> list[float]:
    """For each pair, how far all between two jumps lies off the clock; 0 where it keeps the clock."""
    found: list[float] = []
    stretch: list[float] = []
    for at, pair in enumerate(pairs):
        stretch.append(pair.lag_s)
        if at + 1 == len(pairs) or abs(pairs[at + 1].lag_s - pair.lag_s) > MOVED_S:
            middle_s = median(stretch)
            found += [middle_s if abs(middle_s) > MOVED_S else 0.0] * len(stretch)
            stretch = []
    return found

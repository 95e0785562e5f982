"""What was played as a score that can be written down: every note on its count, as long as it was held.

Notes follow each other as one line: a note that still rings when the next begins is written up to there. Lengths are
drawn to a grid that can be read (``score.snap``), techniques are those the ears are sure of and hands can do.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from phrasewright.app.review import InBars, Review
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.heard import HeardNote, HeardTechnique
from phrasewright.listen.noticed import BELIEVED
from phrasewright.listen.placed import PlacedNote, TakeClock
from phrasewright.listen.spot.line import rounded_midi
from phrasewright.neck.instrument import Instrument
from phrasewright.score.model import Measure, Note, Part, PartRole, Score
from phrasewright.score.snap import GRIDS, snapped
from phrasewright.score.technique import DEAD, PLAIN, WIDEST_BEND, Bend, Start, Touch
from phrasewright.score.touch_rules import mended

GRID_S = 32  # places of a quarter note at which the clock is read


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedScore:
    """score: one lead part; numbers: of each of its notes among all notes heard."""

    score: Score
    numbers: tuple[int, ...]


def played_score(review: Review, in_bars: InBars) -> PlayedScore:
    """The notes that lie inside the bars, and the bars up to the last one played."""
    measures = _played_bars(in_bars)
    inside = [
        (number, here)
        for number, here in enumerate(review.placed)
        if here is not None and measures[0].onset <= here.at < measures[-1].end
    ]
    inside.sort(key=lambda pair: pair[1].at)
    lesson = in_bars.assignment.plan.lesson
    cents = review.hearing.tuning_cents or 0.0
    ends = _ends([here for _, here in inside], in_bars.alignment.clock, measures)
    notes = [
        Note(
            onset=here.at,
            duration=end - here.at,
            pitch=pitch_of(rounded_midi(here.note, cents), lesson.scale, here.chord),
            place=here.place,
        )
        for (_, here), end in zip(inside, ends, strict=True)
    ]
    part = Part(role=PartRole.LEAD, name="Take", notes=tuple(notes), instrument=review.played_on)
    written = _held_up(snapped(part, measures[-1].end).notes)
    touched = _touched(written, [here.note for _, here in inside], review.played_on)
    score = Score(
        title="As played",
        measures=measures,
        parts=(replace(part, notes=touched),),
        fifths=lesson.scale.signature_fifths,
    )
    return PlayedScore(score=score, numbers=tuple(number for number, _ in inside))


def _played_bars(in_bars: InBars) -> tuple[Measure, ...]:
    """All bars up to the last with a note; at least one."""
    alignment = in_bars.alignment
    last = max((here.at for here in alignment.notes), default=Fraction(0))
    kept = tuple(bar for bar in alignment.measures if bar.onset <= last)
    return kept or alignment.measures[:1]


def quarters_at(clock: TakeClock, second: float, until: Fraction) -> Fraction:
    """The written time that sounds at a second of the take, to a fraction of a sixteenth; within 0..until."""
    low, high = 0, int(until * GRID_S)
    place = bisect_right(range(low, high + 1), second, key=lambda at: clock.seconds_at(Fraction(at, GRID_S)))
    return Fraction(min(max(place - 1, low), high), GRID_S)


def _ends(notes: Sequence[PlacedNote], clock: TakeClock, measures: Sequence[Measure]) -> Iterator[Fraction]:
    """Where each note stops: where it falls silent, and not after the next one begins."""
    until, least = measures[-1].end, GRIDS[-1]
    following = [here.at for here in notes[1:]] + [until]
    for at, here in enumerate(notes):
        after = next((later for later in following[at:] if later > here.at), until)
        held = quarters_at(clock, here.note.offset_s, until)
        yield min(max(held, here.at + least), max(after, here.at + least), until)


def _held_up(notes: Sequence[Note]) -> tuple[Note, ...]:
    """No note past the next one's beginning, once all are drawn to the grid."""
    kept = list(notes)
    for at, (note, after) in enumerate(pairwise(notes)):
        if note.onset < after.onset < note.end:
            kept[at] = replace(note, duration=after.onset - note.onset)
    return tuple(kept)


def _touched(notes: Sequence[Note], heard: Sequence[HeardNote], played_on: Instrument) -> tuple[Note, ...]:
    """The line with the techniques heard, as far as hands can do them there."""
    line = [
        replace(note, touch=_touch(one, before))
        for note, one, before in zip(notes, heard, (None, *notes), strict=False)
    ]
    return mended(line, played_on)


def _touch(heard: HeardNote, before: Note | None) -> Touch:
    sure = {mark.technique: mark for mark in heard.marks if mark.confidence >= BELIEVED}
    if HeardTechnique.DEAD in sure:
        return DEAD
    shaken = HeardTechnique.VIBRATO in sure
    if HeardTechnique.BEND in sure:
        semitones = min(round(sure[HeardTechnique.BEND].cents / 100.0), WIDEST_BEND)
        if semitones >= 1:
            return Touch(start=Start.BENT, bend=Bend(semitones=semitones), vibrato=shaken)
    if HeardTechnique.SLIDE in sure:
        return Touch(start=Start.SLID, vibrato=shaken)
    if HeardTechnique.LEGATO in sure and before is not None:
        start = Start.HAMMERED if heard.pitch_midi > before.pitch.midi else Start.PULLED
        return Touch(start=start, vibrato=shaken)
    return replace(PLAIN, vibrato=shaken)

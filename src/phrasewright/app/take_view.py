"""A take heard, as the studio shows it: what is to be said, every note with its place, what was not played."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from phrasewright.app.review import InBars, Review
from phrasewright.app.take_marks import note_pitches
from phrasewright.listen.finding import Finding
from phrasewright.listen.placed import Verdict
from phrasewright.score.model import PartRole

Json = dict[str, Any]
ADDED = "added"  # of a note that nothing written accounts for


def view_text(review: Review) -> str:
    """The view as JSON, on one line."""
    return json.dumps(take_view(review), ensure_ascii=False, allow_nan=False) + "\n"


def take_view(review: Review) -> Json:
    """The view. Times in s of the take; findings: what matters most first, ``first`` marks the few to tell at once."""
    in_bars = review.in_bars
    line = None if in_bars is None else in_bars.assignment.line
    return {
        "title": "" if in_bars is None else in_bars.assignment.plan.lesson.title if line is None else line.title,
        "words": view_words(review),
        "remarks": list(review.remarks),
        "tempo_bpm": None if in_bars is None or in_bars.tempo_bpm is None else round(in_bars.tempo_bpm, 1),
        "findings": [] if in_bars is None else [_finding(one, one in in_bars.first) for one in in_bars.findings],
        "notes": list(_notes(review)),
        "missed": [] if in_bars is None else list(_missed(in_bars)),
    }


def view_words(review: Review) -> str:
    """The take in a sentence."""
    if review.in_bars is not None:
        return review.in_bars.words
    return f"{len(review.hearing.notes)} notes were heard in {review.hearing.length_s:.0f} seconds."


def _finding(finding: Finding, is_first: bool) -> Json:
    return {
        "topic": str(finding.topic),
        "tone": str(finding.tone),
        "words": finding.said,
        "try": finding.try_next,
        "confidence": round(finding.confidence, 3),
        "bars": None if finding.bars is None else list(finding.bars),
        "at_s": None if finding.from_s is None else round(finding.from_s, 3),
        "end_s": None if finding.to_s is None else round(finding.to_s, 3),
        "first": is_first,
    }


def _notes(review: Review) -> Iterator[Json]:
    outcomes = _outcomes(review.in_bars)
    placed = review.placed or (None,) * len(review.hearing.notes)
    for number, (note, pitch) in enumerate(zip(review.hearing.notes, note_pitches(review), strict=True)):
        here, place = placed[number], review.places[number]
        verdict, written = (None, None) if here is None else outcomes.get(id(here), (None, None))
        yield {
            "at_s": round(note.onset_s, 3),
            "end_s": round(note.offset_s, 3),
            "name": "" if note.is_dead else pitch.printed,
            "midi": round(note.pitch_midi, 2),
            "string": None if place is None else place.string,
            "fret": None if place is None else place.fret,
            "bar": None if here is None else here.bar,
            "beat": None if here is None else round(here.beat, 3),
            "deviation_ms": None if here is None else round(1000 * here.deviation_s),
            "confidence": round(note.confidence, 3),
            "written": written,
            "verdict": verdict,
        }


def _outcomes(in_bars: InBars | None) -> dict[int, tuple[str, int | None]]:
    """Placed note, by identity -> what it is against the written line, and the index of the note it was played for.

    The index is in the line as it is engraved, whichever round of it the note was played in.
    """
    if in_bars is None or in_bars.comparison is None or in_bars.assignment.line is None:
        return {}
    engraved = len(in_bars.assignment.line.part(PartRole.LEAD).notes)
    outcomes = enumerate(in_bars.comparison.outcomes)
    added: dict[int, tuple[str, int | None]] = {id(one): (ADDED, None) for one in in_bars.comparison.added}
    return added | {id(one.heard): (str(one.verdict), at % engraved) for at, one in outcomes if one.heard}


def _missed(in_bars: InBars) -> Iterator[Json]:
    """Written notes that were not played, with when they were due."""
    if in_bars.comparison is None:
        return
    clock, measures = in_bars.alignment.clock, in_bars.alignment.measures
    for outcome in in_bars.comparison.of(Verdict.MISSED):
        note = outcome.written
        bar = next((one for one in measures if one.onset <= note.onset < one.end), None)
        yield {
            "at_s": round(clock.seconds_at(note.onset), 3),
            "name": note.pitch.printed,
            "midi": note.pitch.midi,
            "string": None if note.place is None else note.place.string,
            "fret": None if note.place is None else note.place.fret,
            "bar": None if bar is None else bar.number,
        }

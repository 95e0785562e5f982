"""A take as JSON: every note heard, and what was found; every key is always there, null where nothing is known.

The keys stand in docs/listening-report.md. Numbers among notes (``notes``, ``places``) count from 0 in this file's own
``notes``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

from phrasewright.app.review import InBars, Review
from phrasewright.listen.backing import Removal
from phrasewright.listen.finding import Finding
from phrasewright.listen.heard import CURVE_STEP_S, HeardNote, Mark
from phrasewright.listen.placed import Verdict, WrittenOutcome
from phrasewright.neck.instrument import StringFret

Json = dict[str, Any]


def take_json(review: Review) -> str:
    """The whole document, one note a line."""
    head = _head(review)
    lines = "".join(f"  {json.dumps(key)}: {_text(value)},\n" for key, value in head.items())
    rows = ",\n".join(f"    {_text(note)}" for note in _notes(review))
    return f'{{\n{lines}  "notes": [\n{rows}\n  ]\n}}\n'


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _head(review: Review) -> Json:
    hearing = review.hearing
    known: Json = {
        "length_s": round(hearing.length_s, 3),
        "tuning_cents": _rounded(hearing.tuning_cents, 1),
        "curve_step_s": CURVE_STEP_S,
        "track": _track(review.removal),
        "remarks": list(review.remarks),
    }
    return known | (NOT_IN_BARS if review.in_bars is None else _in_bars(review.in_bars, review.numbers))


NOT_IN_BARS: Json = {
    "lesson": None,
    "exercise": None,
    "tempo_bpm": None,
    "offset_s": None,
    "clock": None,
    "timing": None,
    "words": None,
    "motifs": [],
    "own_motifs": [],
    "findings": [],
    "missed": [],
}


def _in_bars(found: InBars, numbers: tuple[int, ...]) -> Json:
    """numbers: of the placed notes among all notes heard."""
    clock, timing, lesson = found.alignment.clock, found.timing, found.assignment.plan.lesson
    return {
        "lesson": lesson.title,
        "exercise": None if found.assignment.line is None else found.assignment.line.title,
        "tempo_bpm": _rounded(found.tempo_bpm, 2),
        "offset_s": round(clock.offset_s, 4) if found.alignment.notes else None,
        "clock": {"source": str(clock.source), "confidence": round(clock.confidence, 3)},
        "timing": {
            "bias_ms": _ms(timing.bias_s),
            "spread_ms": _ms(timing.spread_s),
            "drift_percent": _rounded(timing.drift_percent, 2),
            "swing_ratio": _rounded(timing.swing_ratio, 2),
            "notes": timing.notes,
        },
        "words": found.words,
        "motifs": [
            {
                "letter": sighting.letter,
                "notes": [numbers[at] for at in sighting.notes],
                "changes": [str(change) for change in sighting.changes],
                "octaves": sighting.octaves,
                "bar": found.alignment.notes[sighting.first].bar,
                "beat": found.alignment.notes[sighting.first].beat,
                "confidence": round(sighting.confidence, 3),
            }
            for sighting in found.spotting.sightings
        ],
        "own_motifs": [
            {
                "intervals": list(own.intervals),
                "places": [numbers[at] for at in own.places],
                "same_rhythm": own.same_rhythm,
            }
            for own in found.spotting.own
        ],
        "findings": [_finding(finding, numbers, finding in found.first) for finding in found.findings],
        "missed": [] if found.comparison is None else [_missed(one) for one in found.comparison.of(Verdict.MISSED)],
    }


def _finding(finding: Finding, numbers: tuple[int, ...], is_first: bool) -> Json:
    return {
        "kind": finding.kind,
        "topic": str(finding.topic),
        "tone": str(finding.tone),
        "said": finding.said,
        "try_next": finding.try_next,
        "size": round(finding.size, 3),
        "unit": finding.unit,
        "confidence": round(finding.confidence, 3),
        "weight": round(finding.weight, 3),
        "bars": None if finding.bars is None else list(finding.bars),
        "from_s": _rounded(finding.from_s, 3),
        "to_s": _rounded(finding.to_s, 3),
        "notes": [numbers[at] for at in finding.notes],
        "first": is_first,
    }


def _missed(outcome: WrittenOutcome) -> Json:
    note = outcome.written
    return {"onset_quarters": str(note.onset), "pitch_midi": note.pitch.midi, **_place(note.place)}


def _track(removal: Removal | None) -> Json | None:
    if removal is None:
        return None
    return {
        "offset_s": round(removal.lag_s, 4),
        "stretch": round(removal.stretch, 7),
        "level_db": round(removal.level_db, 1),
        "confidence": round(removal.confidence, 2),
    }


def _notes(review: Review) -> Iterator[Json]:
    placed = review.placed or (None,) * len(review.hearing.notes)
    letters = _letters(review)
    verdicts = _verdicts(review)
    for at, (note, here) in enumerate(zip(review.hearing.notes, placed, strict=True)):
        yield {
            "onset_s": round(note.onset_s, 4),
            "offset_s": round(note.offset_s, 4),
            "pitch_midi": round(note.pitch_midi, 3),
            "level_db": round(note.level_db, 1),
            "confidence": round(note.confidence, 3),
            "bar": here and here.bar,
            "beat": here and round(here.beat, 4),
            "count": here and here.word,
            "deviation_ms": here and _ms(here.deviation_s),
            **_place(review.places[at]),
            "motif": letters.get(at),
            "verdict": verdicts.get(at),
            "technique": [dict(_mark(mark)) for mark in note.marks],
            "cents_curve": _curve(note),
        }


def _letters(review: Review) -> dict[int, str]:
    """Number of a note -> letter of its motif; where two share a note, of the earlier."""
    if review.in_bars is None:
        return {}
    numbers = review.numbers
    sightings = reversed(review.in_bars.spotting.sightings)
    return {numbers[at]: sighting.letter for sighting in sightings for at in sighting.notes}


def _verdicts(review: Review) -> dict[int, str]:
    """Number of a note -> what it is against the written line."""
    found = {at: str(verdict) for at, verdict in review.verdicts.items()}
    if review.in_bars is None or review.in_bars.comparison is None:
        return found
    added = {id(placed) for placed in review.in_bars.comparison.added}
    return found | {at: "added" for at, here in enumerate(review.placed) if id(here) in added}


def _place(place: StringFret | None) -> Json:
    return {"string": None if place is None else place.string, "fret": None if place is None else place.fret}


def _curve(note: HeardNote) -> list[float | None]:
    return [None if math.isnan(cents) else cents for cents in note.curve_cents]


def _mark(mark: Mark) -> Iterator[tuple[str, Any]]:
    yield "kind", str(mark.technique)
    if mark.cents:
        yield "cents", round(mark.cents, 1)
    if mark.rate_hz:
        yield "rate_hz", round(mark.rate_hz, 2)
    yield "confidence", round(mark.confidence, 2)


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else round(1000.0 * seconds, 1)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)

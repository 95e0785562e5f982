"""From a figure to a finding, or to silence where it is not sure enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phrasewright.listen.finding import Finding
from phrasewright.listen.findings.chance import SURE
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.thresholds import THRESHOLDS

HANDFUL = 5
LEAST_STRENGTH = 0.6  # a thing just beyond its limit weighs so much of its weight, twice beyond it all


def tell(
    playing: Playing,
    kind: str,
    *,
    sure: float,
    measured: float,
    size: float,
    unit: str,
    said: str,
    try_next: str,
    notes: Sequence[int] = (),
    trust: float = 1.0,
) -> Iterator[Finding]:
    """The finding of a kind, if it is sure. measured: what the limit is compared with; notes: numbers it is about."""
    row = THRESHOLDS[kind]
    confidence = sure * trust
    if confidence < SURE:
        return
    beyond = min(1.0, abs(measured - row.limit) / abs(row.limit)) if row.limit else 1.0
    strength = LEAST_STRENGTH + (1.0 - LEAST_STRENGTH) * beyond
    about = [playing.take.alignment.notes[number] for number in notes]
    yield Finding(
        kind=kind,
        topic=row.topic,
        tone=row.tone,
        said=said,
        try_next=try_next,
        size=size,
        unit=unit,
        confidence=confidence,
        weight=row.weight * strength * confidence,
        bars=(min(note.bar for note in about), max(note.bar for note in about)) if about else None,
        from_s=min(note.note.onset_s for note in about) if about else None,
        to_s=max(note.note.offset_s for note in about) if about else None,
        notes=tuple(notes[:HANDFUL]),
    )


def per_cent(share: float) -> int:
    """A share in whole per cent."""
    return round(100.0 * share)

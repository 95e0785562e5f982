"""From a figure to a finding, or to silence where it is not sure enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from phrasewright.listen.finding import Finding, Topic
from phrasewright.listen.findings.chance import SURE
from phrasewright.listen.findings.playing import Playing
from phrasewright.listen.findings.thresholds import THRESHOLDS
from phrasewright.units import CENTS_PER_SEMITONE

HANDFUL = 5
BESIDE_THE_AIM = 0.7  # of its weight, for what a lesson is not about: our design
LEAST_STRENGTH = 0.6  # a thing just beyond its limit weighs so much of its weight, twice beyond it all


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """A place in the music and in the take."""

    bars: tuple[int, int] | None = None
    from_s: float | None = None
    to_s: float | None = None


ALL_THROUGH = Where()


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
    where: Where | None = None,
    trust: float = 1.0,
) -> Iterator[Finding]:
    """The finding of a kind, if it is sure. measured: what the limit is compared with; notes: numbers it is about.

    where: None = that of the notes, or all through without any.
    """
    row = THRESHOLDS[kind]
    confidence = sure * trust
    if confidence < SURE:
        return
    beyond = min(1.0, abs(measured - row.limit) / abs(row.limit)) if row.limit else 1.0
    strength = LEAST_STRENGTH + (1.0 - LEAST_STRENGTH) * beyond
    place = where or _where(playing, notes)
    yield Finding(
        kind=kind,
        topic=row.topic,
        tone=row.tone,
        said=said,
        try_next=try_next,
        size=size,
        unit=unit,
        confidence=confidence,
        weight=row.weight * strength * confidence * _aim(playing, row.topic),
        bars=place.bars,
        from_s=place.from_s,
        to_s=place.to_s,
        notes=tuple(notes[:HANDFUL]),
    )


def _aim(playing: Playing, topic: Topic) -> float:
    """How much of its weight a topic has in this lesson."""
    about = playing.take.about
    return 1.0 if not about or topic in about else BESIDE_THE_AIM


def _where(playing: Playing, notes: Sequence[int]) -> Where:
    about = [playing.take.alignment.notes[number] for number in notes]
    if not about:
        return ALL_THROUGH
    return Where(
        bars=(min(note.bar for note in about), max(note.bar for note in about)),
        from_s=min(note.note.onset_s for note in about),
        to_s=max(note.note.offset_s for note in about),
    )


def cents_words(cents: float) -> str:
    """``44 cents (half a fret)``: for players who know frets better."""
    quarters = min(round(abs(cents) / CENTS_PER_SEMITONE * 4), 4)
    frets = ("a hair", "a quarter of a fret", "half a fret", "three quarters of a fret", "a fret")[quarters]
    return f"{abs(cents):.0f} cents ({frets})"


def per_cent(share: float) -> int:
    """A share in whole per cent."""
    return round(100.0 * share)

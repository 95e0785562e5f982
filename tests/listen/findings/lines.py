"""Small takes for findings: a line in a vamp on Am7, 120 quarter notes a minute, one bar two seconds long."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from phrasewright.listen.findings.playing import Playing, playing_of
from phrasewright.listen.findings.take import Take
from phrasewright.listen.heard import HeardNote, Hearing, Mark
from phrasewright.listen.placed import Alignment, OffsetSource, PlacedNote, TakeClock, TimingSummary
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import ChordSpan, Measure
from phrasewright.score.performance import Performance
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

A_MINOR = Scale(NoteName.parse("A"), SCALE_KINDS["minor-pentatonic"])
FOUR = Meter.parse("4/4")
QUARTER_S = 0.5
UNKNOWN_TIMING = TimingSummary(bias_s=None, spread_s=None, drift_percent=None, swing_ratio=None, notes=0)


def bars(count: int, symbol: str = "Am7") -> tuple[Measure, ...]:
    return tuple(
        Measure(
            number=number + 1,
            onset=4 * Fraction(number),
            meter=FOUR,
            chords=(ChordSpan(onset=4 * Fraction(number), duration=Fraction(4), chord=parse_chord(symbol)),),
        )
        for number in range(count)
    )


def note(
    pitch_midi: float,
    at: Fraction | float,
    *,
    quarters: float = 0.45,
    marks: tuple[Mark, ...] = (),
    late_s: float = 0.0,
    confidence: float = 0.95,
    place: StringFret | None = None,
) -> PlacedNote:
    """A note on a count. quarters: how long it sounds."""
    count = Fraction(at)
    onset_s = float(count) * QUARTER_S + late_s
    beat = float(count % 4) + 1
    return PlacedNote(
        note=HeardNote(
            onset_s=onset_s,
            offset_s=onset_s + quarters * QUARTER_S,
            pitch_midi=pitch_midi,
            marks=marks,
            confidence=confidence,
        ),
        at=count,
        bar=int(count // 4) + 1,
        beat=beat,
        word=str(int(beat)) if beat == int(beat) else "&",
        deviation_s=late_s,
        chord=parse_chord("Am7"),
        place=place,
    )


def phrases(*lines: Sequence[int], length: int = 8, step: float = 0.5, last: float = 1.5) -> list[PlacedNote]:
    """Each line on its own, ``length`` quarters after the one before; the last note of each is long."""
    return [
        note(pitch, length * number + step * index, quarters=last if index == len(line) - 1 else 0.9 * step)
        for number, line in enumerate(lines)
        for index, pitch in enumerate(line)
    ]


def take(notes: Sequence[PlacedNote], *, source: OffsetSource = OffsetSource.TRACK, **changes: object) -> Take:
    """A take of notes in their places, over as many bars as they need."""
    last = max((placed.bar for placed in notes), default=1)
    alignment = Alignment(
        measures=bars(last),
        clock=TakeClock(performance=Performance(tempo_bpm=120.0), offset_s=0.0, source=source),
        notes=tuple(notes),
    )
    plain = Take(
        hearing=Hearing(notes=tuple(placed.note for placed in notes), length_s=2.0 * last + 5.0, tuning_cents=0.0),
        alignment=alignment,
        timing=UNKNOWN_TIMING,
        scale=A_MINOR,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def playing(notes: Sequence[PlacedNote], *, source: OffsetSource = OffsetSource.TRACK, **changes: object) -> Playing:
    return playing_of(take(notes, source=source, **changes))

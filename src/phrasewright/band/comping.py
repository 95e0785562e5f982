"""The chord part: a rhythm with room in it, each stroke a grip of the chord that sounds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from phrasewright.band.form import BarPlan
from phrasewright.band.groove_model import ChordStyle, Groove
from phrasewright.band.intensity import louder, window
from phrasewright.band.steps import read_steps, stroke_count
from phrasewright.band.stops import length_of
from phrasewright.band.voice_leading import lead_voices, lead_voices_round
from phrasewright.band.voicings import Voicing
from phrasewright.score.model import ChordSpan, Note
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.interval import Degree

LOUDNESS = {"X": 0.8, "x": 0.66, "o": 0.45, "p": 0.62}
FINAL_LOUDNESS = 0.7
PUSH = "p"
LONGEST_ADDED = Fraction(1)  # a chord the pattern would skip is struck for a quarter note at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One chord struck. velocity 0..1."""

    onset: Fraction
    duration: Fraction
    chord: Chord
    velocity: float


def chord_notes(bars: Sequence[BarPlan], groove: Groove, *, rng: Random) -> tuple[Note, ...]:
    """The notes of the chord part, by onset then pitch; guitar voicings give each its place.

    Unless the last bar is final the part goes round, and its last grip leads to its first.
    """
    strokes = comping(bars, groove)
    changes = [stroke.chord for index, stroke in enumerate(strokes) if _changes(strokes, index)]
    join = lead_voices if bars and bars[-1].final else lead_voices_round
    grips = iter(join(changes, groove.chord_style, rng=rng))
    notes: list[Note] = []
    grip: Voicing | None = None
    for index, stroke in enumerate(strokes):
        if grip is None or _changes(strokes, index):
            grip = next(grips)
        notes += _strike(stroke, grip)
    return tuple(notes)


def comping(bars: Sequence[BarPlan], groove: Groove) -> tuple[Stroke, ...]:
    """When which chord is struck; every chord of the chart is heard at least once, unless the groove has no chords."""
    strokes: list[Stroke] = []
    for index, bar in enumerate(bars):
        patterns = groove.plan(bar.measure.meter).chords
        if not patterns:
            continue
        following = bars[(index + 1) % len(bars)]
        held = bar.final or bar.pickup
        strokes += _held(bar) if held else _bar_strokes(bar, following, patterns, groove.chord_style)
    if groove.chord_style is ChordStyle.FIFTHS:
        return tuple(replace(stroke, chord=open_fifth(stroke.chord)) for stroke in strokes)
    return tuple(strokes)


def open_fifth(chord: Chord) -> Chord:
    """A chord's root and fifth, or its root alone where it has no perfect fifth."""
    kind = CHORD_KINDS["power" if Degree(5) in chord.degrees else "pedal"]
    return Chord(root=chord.root, kind=kind)


def _changes(strokes: Sequence[Stroke], index: int) -> bool:
    return index == 0 or strokes[index].chord != strokes[index - 1].chord


def _strike(stroke: Stroke, grip: Voicing) -> Iterator[Note]:
    places = grip.places or (None,) * len(grip.pitches)
    for place, pitch in zip(places, grip.pitches, strict=True):
        yield Note(
            onset=stroke.onset,
            duration=stroke.duration,
            pitch=pitch,
            velocity=stroke.velocity,
            place=place,
        )


def _bar_strokes(bar: BarPlan, following: BarPlan, patterns: Sequence[str], style: ChordStyle) -> list[Stroke]:
    choices = window(sorted(patterns, key=stroke_count), bar.intensity)
    pattern = choices[bar.chords % len(choices)]
    strokes: list[Stroke] = []
    for step in read_steps(pattern, bar.measure.meter):
        onset = bar.measure.onset + step.onset
        span = _span_at(bar, onset)
        if span.stop:
            continue
        pushed = following.measure.chords[0].chord
        chord = pushed if step.sign == PUSH and pushed is not None else span.chord
        if chord is not None:
            duration = min(step.duration, span.onset + span.duration - onset)
            velocity = louder(LOUDNESS[step.sign], bar.intensity)
            strokes.append(Stroke(onset=onset, duration=duration, chord=chord, velocity=velocity))
    strokes += [_stop(span, bar) for span in bar.measure.chords if span.stop]
    strokes += [_added(span, bar, strokes, style) for span in bar.measure.chords if _is_unheard(span, strokes)]
    return sorted(strokes, key=lambda stroke: stroke.onset)


def _stop(span: ChordSpan, bar: BarPlan) -> Stroke:
    """A stopped chord's one short stroke."""
    if span.chord is None:
        raise ValueError("a stop needs a chord")
    duration = length_of(span, span.duration)
    return Stroke(onset=span.onset, duration=duration, chord=span.chord, velocity=louder(LOUDNESS["X"], bar.intensity))


def _is_unheard(span: ChordSpan, strokes: Sequence[Stroke]) -> bool:
    inside = (stroke for stroke in strokes if span.onset <= stroke.onset < span.onset + span.duration)
    return span.chord is not None and all(stroke.chord != span.chord for stroke in inside)


def _added(span: ChordSpan, bar: BarPlan, strokes: Sequence[Stroke], style: ChordStyle) -> Stroke:
    """A short stroke where its chord begins, before whatever else the span holds; open fifths are held."""
    if span.chord is None:
        raise ValueError("a stroke needs a chord")
    until = min((stroke.onset for stroke in strokes if stroke.onset > span.onset), default=span.onset + span.duration)
    longest = span.duration if style is ChordStyle.FIFTHS else LONGEST_ADDED
    duration = min(until - span.onset, span.duration, longest)
    return Stroke(onset=span.onset, duration=duration, chord=span.chord, velocity=louder(LOUDNESS["x"], bar.intensity))


def _held(bar: BarPlan) -> list[Stroke]:
    """The last bar, or a pick-up: each chord struck once and held."""
    return [
        Stroke(onset=span.onset, duration=length_of(span, span.duration), chord=span.chord, velocity=FINAL_LOUDNESS)
        for span in bar.measure.chords
        if span.chord is not None
    ]


def _span_at(bar: BarPlan, onset: Fraction) -> ChordSpan:
    return next(span for span in reversed(bar.measure.chords) if span.onset <= onset)

"""From sounding notes to written ones: bars, voices, rests, ties, tuplets and beams.

What sounds is a ``Part``; what a player reads is a row of ``WrittenBar``. Nothing is lost on the way: ``sounding``
gives onsets and durations back exactly. Notes of equal onset are written as one chord; a note that still sounds when
the next begins goes to another voice. Rules for values and ties: ``rhythm``; tuplets are written per counted unit, or
over two of them where a note crosses between (quarter-note triplets). Common practice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, pairwise

from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.score.model import Measure, Note
from phrasewright.score.rhythm import NoteValue, Span, bar_tree, even_tree, note_pieces, plain_value, rest_pieces
from phrasewright.score.tuplets import Tuplet, tuplets_of
from phrasewright.theory.meter import Meter


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenEvent:
    """A written note, chord or rest.

    onset: quarter notes from the score start. notes: what sounds, with ``indices`` into the part's notes; both empty
    for a rest. tied_from: continues the event before; tied_to: goes on in the next. beam: events of one bar and voice
    with the same number hang on one beam, None = no beam. whole_bar: a rest that fills its bar.
    """

    onset: Fraction
    value: NoteValue
    notes: tuple[Note, ...] = ()
    indices: tuple[int, ...] = ()
    tied_from: bool = False
    tied_to: bool = False
    tuplet: Tuplet | None = None
    beam: int | None = None
    whole_bar: bool = False
    length: Fraction  # sounding length in quarter notes; a whole-bar rest has the bar's

    @property
    def end(self) -> Fraction:
        """Where it stops, in quarter notes from the score start."""
        return self.onset + self.length

    @property
    def is_rest(self) -> bool:
        """True when nothing sounds."""
        return not self.notes


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenBar:
    """One bar of one part. voices: each fills the bar, highest first; numbers: which voice each is, from 1.

    A voice that is silent in this bar is left out, unless all are.
    """

    measure: Measure
    voices: tuple[tuple[WrittenEvent, ...], ...]
    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Stroke:
    """Notes struck and stopped together."""

    onset: Fraction
    end: Fraction
    indices: tuple[int, ...] = ()


def written_bars(notes: Sequence[Note], measures: Sequence[Measure]) -> tuple[WrittenBar, ...]:
    """Write notes (by onset) into bars.

    Raises ValueError when a note lies outside the bars or has a length that cannot be written (see ``snap``).
    """
    return _written_bars(tuple(notes), tuple(measures))


@lru_cache(maxsize=32)  # the same line goes to wide and narrow figures, MEI and MusicXML
def _written_bars(notes: tuple[Note, ...], measures: tuple[Measure, ...]) -> tuple[WrittenBar, ...]:
    if any(note.end > measures[-1].end for note in notes):
        raise ValueError("a note sounds past the last bar")
    voices = [_Voice(strokes) for strokes in _voices(notes)]
    return tuple(_written_bar(measure, voices, notes) for measure in measures)


def sounding(bars: Iterable[WrittenBar]) -> dict[int, tuple[Fraction, Fraction]]:
    """Index of each note -> (onset, duration) in quarter notes, ties joined: the inverse of ``written_bars``."""
    found: dict[int, tuple[Fraction, Fraction]] = {}
    for bar in bars:
        for event in (event for voice in bar.voices for event in voice):
            for index in event.indices:
                onset, duration = found.get(index, (event.onset, Fraction(0)))
                found[index] = (onset, duration + event.length)
    return found


def tab_fret(instrument: Instrument, place: StringFret) -> int:
    """The fret as tablature prints it: counted from the capo, so an open string is 0 (common practice).

    Raises ValueError behind the capo.
    """
    if place.fret < instrument.capo:
        raise ValueError(f"fret {place.fret} lies behind the capo at {instrument.capo}")
    return place.fret - instrument.capo


# --- voices and bars


def _voices(notes: Sequence[Note]) -> list[list[_Stroke]]:
    strokes: dict[tuple[Fraction, Fraction], list[int]] = {}
    for index, note in enumerate(notes):
        strokes.setdefault((note.onset, note.end), []).append(index)
    voices: list[list[_Stroke]] = [[]]
    for (onset, end), indices in sorted(strokes.items(), key=lambda item: (item[0][0], -item[0][1])):
        stroke = _Stroke(onset, end, tuple(indices))
        free = [voice for voice in voices if not voice or voice[-1].end <= onset]
        if free:
            min(free, key=lambda voice: _leap(voice, stroke, notes)).append(stroke)
        else:
            voices.append([stroke])
    return sorted(voices, key=lambda voice: -_mean_pitch(voice, notes))


def _leap(voice: list[_Stroke], stroke: _Stroke, notes: Sequence[Note]) -> int:
    """Semitones from the last note of a voice to a stroke, top to top."""
    last, here = (max(notes[i].pitch.midi for i in s.indices) for s in (voice[-1] if voice else stroke, stroke))
    return abs(last - here)


def _mean_pitch(voice: list[_Stroke], notes: Sequence[Note]) -> float:
    pitches = [notes[index].pitch.midi for stroke in voice for index in stroke.indices]
    return sum(pitches) / len(pitches) if pitches else 0.0


class _Voice:
    """Strokes one after the other, quick to find by time."""

    def __init__(self, strokes: list[_Stroke]) -> None:
        self.strokes = strokes
        self.onsets = [stroke.onset for stroke in strokes]
        self.ends = [stroke.end for stroke in strokes]

    def within(self, measure: Measure) -> list[_Stroke]:
        """The strokes that sound in a bar."""
        return self.strokes[bisect_right(self.ends, measure.onset) : bisect_left(self.onsets, measure.end)]


def _written_bar(measure: Measure, voices: list[_Voice], notes: Sequence[Note]) -> WrittenBar:
    inside = [voice.within(measure) for voice in voices]
    numbers = [number for number, strokes in enumerate(inside, start=1) if strokes] or [1]
    written = tuple(_written_voice(measure, inside[number - 1], notes) for number in numbers)
    return WrittenBar(measure=measure, voices=written, numbers=tuple(numbers))


def _written_voice(measure: Measure, strokes: list[_Stroke], notes: Sequence[Note]) -> tuple[WrittenEvent, ...]:
    if not strokes:
        rest = WrittenEvent(onset=measure.onset, value=NoteValue(1), length=measure.meter.bar, whole_bar=True)
        return (rest,)
    filled = _with_silence(strokes, measure)
    regions = tuplets_of(sorted({point for stroke in filled for point in (stroke.onset, stroke.end)}), measure)
    events = [event for stroke in filled for event in _events(stroke, measure, regions, notes)]
    return _beamed(events, measure)


def _with_silence(strokes: list[_Stroke], measure: Measure) -> list[_Stroke]:
    """The strokes cut nowhere, with empty strokes where the bar is silent."""
    filled, at = [], measure.onset
    for stroke in strokes:
        if stroke.onset > at:
            filled.append(_Stroke(at, stroke.onset))
        filled.append(stroke)
        at = stroke.end
    if at < measure.end:
        filled.append(_Stroke(at, measure.end))
    return filled


def _events(
    stroke: _Stroke, measure: Measure, tuplets: Sequence[Tuplet], notes: Sequence[Note]
) -> Iterable[WrittenEvent]:
    start, end = max(stroke.onset, measure.onset), min(stroke.end, measure.end)
    for piece_start, piece_end, value, tuplet in _values(start, end, measure, tuplets, bool(stroke.indices)):
        yield WrittenEvent(
            onset=piece_start,
            length=piece_end - piece_start,
            value=value,
            notes=tuple(notes[index] for index in stroke.indices),
            indices=stroke.indices,
            tied_from=bool(stroke.indices) and piece_start > stroke.onset,
            tied_to=bool(stroke.indices) and piece_end < stroke.end,
            tuplet=tuplet,
        )


_Valued = tuple[Fraction, Fraction, NoteValue, Tuplet | None]


def _values(
    start: Fraction, end: Fraction, measure: Measure, tuplets: Sequence[Tuplet], sounds: bool
) -> Iterable[_Valued]:
    """The written values of [start, end): cut at tuplet borders, then by the rules of each stretch."""
    cuts = {point for tuplet in tuplets for point in (tuplet.onset, tuplet.onset + tuplet.length)}
    points = [start, *sorted(point for point in cuts if start < point < end), end]
    for low, high in pairwise(points):
        tuplet = next((t for t in tuplets if t.onset <= low < t.onset + t.length), None)
        if tuplet is None:
            yield from _plain_values(low, high, measure, sounds)
        else:
            yield from _tuplet_values(low, high, tuplet, sounds)


def _plain_values(start: Fraction, end: Fraction, measure: Measure, sounds: bool) -> Iterable[_Valued]:
    tree = bar_tree(measure.meter)
    for low, high in _cut(start - measure.onset, end - measure.onset, tree, sounds):
        yield low + measure.onset, high + measure.onset, _value(high - low), None


def _tuplet_values(start: Fraction, end: Fraction, tuplet: Tuplet, sounds: bool) -> Iterable[_Valued]:
    scale = Fraction(tuplet.actual, tuplet.normal)
    tree = even_tree(Fraction(0), tuplet.length * scale, tuplet.actual)
    for low, high in _cut((start - tuplet.onset) * scale, (end - tuplet.onset) * scale, tree, sounds):
        value = replace(_value(high - low), actual=tuplet.actual, normal=tuplet.normal)
        yield low / scale + tuplet.onset, high / scale + tuplet.onset, value, tuplet


def _cut(start: Fraction, end: Fraction, tree: Span, sounds: bool) -> tuple[tuple[Fraction, Fraction], ...]:
    return note_pieces(start, end, tree) if sounds else rest_pieces(start, end, tree)


def _value(length: Fraction) -> NoteValue:
    value = plain_value(length)
    if value is None:
        raise ValueError(f"no note value is {length} quarter notes long")
    return value


# --- beams


def _beam_spans(meter: Meter) -> tuple[Fraction, ...]:
    """Ends of the stretches that one beam may cover: quarters in x/4, else the felt groups."""
    lengths = (meter.unit,) * meter.upper if meter.lower == 4 else meter.groups
    ends, at = [], Fraction(0)
    for length in lengths:
        at += length
        ends.append(at)
    return tuple(ends)


def _beamed(events: list[WrittenEvent], measure: Measure) -> tuple[WrittenEvent, ...]:
    ends = _beam_spans(measure.meter)

    def place(event: WrittenEvent) -> tuple[int, Tuplet | None, bool]:
        span = next(i for i, end in enumerate(ends) if event.onset - measure.onset < end)
        return span, event.tuplet, event.is_rest or event.value.base < 8

    beamed: list[WrittenEvent] = []
    for number, ((_, _, unbeamable), group) in enumerate(groupby(events, key=place)):
        members = list(group)
        beam = None if unbeamable or len(members) < 2 else number
        beamed.extend(replace(event, beam=beam) for event in members)
    return tuple(beamed)

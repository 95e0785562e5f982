"""The lines of a take as figures: engraved systems under their sound where bars are known, tablature in time where not.

An engraved system is bent sound: seconds stand where the engraver put the count that they sound. Notes light and sound
by their number among all notes heard, so the numbers inside the engraver's figures are written over.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from phrasewright.app.review import InBars, Review
from phrasewright.app.take_marks import scale_of
from phrasewright.app.take_score import PlayedScore, played_score
from phrasewright.engrave.report.content import LineView
from phrasewright.engrave.systems import System, engrave_score
from phrasewright.engrave.take.pitch_rows import LEFT_MM as PITCH_LEFT_MM
from phrasewright.engrave.take.pitch_rows import PitchRow, WrittenSpan, pitch_row
from phrasewright.engrave.take.played import PlayedMark
from phrasewright.engrave.take.string_row import LEFT_MM as STRINGS_LEFT_MM
from phrasewright.engrave.take.string_row import StringRow, string_row
from phrasewright.engrave.take.wave_row import Envelope, MotifBracket, TimeLine, WaveRow, WrittenPlace, wave_row
from phrasewright.listen.heard import CURVE_STEP_S
from phrasewright.listen.placed import Verdict
from phrasewright.score.model import Measure

RIGHT_MM = 1.0
MOST_ROUNDED_S = 0.001  # points of a line closer than this are one
_NUMBER = re.compile(r'data-note="(\d+)"')
_SHARPS = (0, 5)  # C and F, ruled where no scale is known


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One of the two widths. seconds: on a line of free time; bars: on a line, None = as many as fit well."""

    name: str
    width_mm: float
    seconds: float
    bars: int | None


def bar_lines(
    review: Review, in_bars: InBars, marks: Sequence[PlayedMark], envelope: Envelope, sheet: Sheet
) -> tuple[LineView, ...]:
    """What was played as notation and tablature, each system under its sound."""
    played = played_score(review, in_bars)
    engraving = engrave_score(
        played.score, id_prefix=f"played-{sheet.name}-", width_mm=sheet.width_mm, bars_per_system=sheet.bars
    )
    return tuple(_bar_line(review, in_bars, marks, envelope, played, one, sheet) for one in engraving.systems)


def _bar_line(
    review: Review,
    in_bars: InBars,
    marks: Sequence[PlayedMark],
    envelope: Envelope,
    played: PlayedScore,
    system: System,
    sheet: Sheet,
) -> LineView:
    bars = played.score.measures[system.first_bar - 1 : system.last_bar]
    line = TimeLine(points=_system_points(in_bars, system), width_mm=sheet.width_mm)
    inside = [
        (marks[number], system.x_mm(here.at))
        for number in sorted(played.numbers)
        if (here := review.placed[number]) is not None and bars[0].onset <= here.at < bars[-1].end
    ]
    label = _bars_words(bars)
    wave = wave_row(
        WaveRow(
            time=line,
            marks=tuple(inside),
            beats=tuple(_beats(bars, system)),
            motifs=tuple(_brackets(in_bars, bars)),
            missed=tuple(system.x_mm(at) for at in _missed(in_bars) if bars[0].onset <= at < bars[-1].end),
        ),
        envelope,
        id_prefix=f"wave-{sheet.name}-{system.first_bar}",
        label=f"Sound of {label}",
    )
    music = _NUMBER.sub(lambda found: f'data-note="{played.numbers[int(found[1])]}"', system.svg)
    words = "; ".join(mark.words for mark, _ in inside) or "no note begins here"
    return LineView(svgs=(wave, music), points=_shares(line), alt=f"{label.capitalize()}: {words}.")


def _system_points(in_bars: InBars, system: System) -> tuple[tuple[float, float], ...]:
    """Seconds and places of a system's moments, rising in both."""
    points: list[tuple[float, float]] = []
    for at, x in system.moments:
        second = in_bars.alignment.clock.seconds_at(at)
        if not points or (second > points[-1][0] + MOST_ROUNDED_S and x > points[-1][1]):
            points.append((second, x))
    return tuple(points)


def _beats(bars: Sequence[Measure], system: System) -> Iterator[WrittenPlace]:
    for bar in bars:
        for beat in range(ceil(bar.meter.bar / bar.meter.pulse)):
            yield WrittenPlace(x_mm=system.x_mm(bar.onset + beat * bar.meter.pulse), is_bar=beat == 0)


def _missed(in_bars: InBars) -> Iterator[Fraction]:
    if in_bars.comparison is not None:
        yield from (one.written.onset for one in in_bars.comparison.of(Verdict.MISSED))


def _bars_words(bars: Sequence[Measure]) -> str:
    first, last = bars[0].number, bars[-1].number
    return f"bar {first}" if first == last else f"bars {first} to {last}"


def _brackets(in_bars: InBars, bars: Sequence[Measure]) -> Iterator[MotifBracket]:
    """Shelf motifs that begin in some bars, from their first note to their last."""
    notes = in_bars.alignment.notes
    for seen in in_bars.spotting.sightings:
        first, last = notes[seen.first], notes[seen.last]
        if bars[0].onset <= first.at < bars[-1].end:
            yield MotifBracket(from_s=first.note.onset_s, to_s=last.note.offset_s, label=seen.letter)


def free_lines(
    review: Review, marks: Sequence[PlayedMark], envelope: Envelope, sheet: Sheet
) -> tuple[LineView, ...]:
    """What was played as tablature in free time, each line under its sound."""
    strings = tuple(pitch.name.printed for pitch in review.played_on.tuning)
    found = []
    for number, (start_s, end_s) in enumerate(_stretches(review.hearing.length_s, sheet.seconds)):
        line = _steady(start_s, end_s, STRINGS_LEFT_MM, sheet)
        inside = tuple(mark for mark in marks if start_s <= mark.onset_s < end_s)
        label = f"Second {start_s:.0f} to {end_s:.0f}"
        prefix = f"{sheet.name}-{number}"
        wave = wave_row(
            WaveRow(time=line, marks=tuple((mark, None) for mark in inside)),
            envelope,
            id_prefix=f"wave-{prefix}",
            label=f"{label}, sound",
        )
        row = StringRow(time=line, marks=inside, strings=strings, seconds=range(ceil(start_s), ceil(end_s)))
        words = "; ".join(mark.words for mark in inside) or "no note begins here"
        svgs = (wave, string_row(row, id_prefix=f"strings-{prefix}", label=f"{label}, tablature"))
        found.append(LineView(svgs=svgs, points=_shares(line), alt=f"{label}: {words}."))
    return tuple(found)


def pitch_lines(review: Review, marks: Sequence[PlayedMark], sheet: Sheet) -> tuple[LineView, ...]:
    """The pitch of every note in time; stretches without a note are left out."""
    pitched = [mark for mark in marks if not mark.is_dead]
    found = []
    for number, (start_s, end_s) in enumerate(_stretches(review.hearing.length_s, sheet.seconds)):
        inside = tuple(mark for mark in pitched if start_s <= mark.onset_s < end_s)
        if not inside:
            continue
        span = (min(mark.pitch_midi for mark in inside), max(mark.pitch_midi for mark in inside))
        line = _steady(start_s, end_s, PITCH_LEFT_MM, sheet)
        label = f"Pitch from second {start_s:.0f} to {end_s:.0f}"
        row = PitchRow(
            time=line,
            marks=inside,
            rules=tuple(_rules(review, span)),
            span_midi=span,
            ticks=tuple(_ticks(review, start_s, end_s)),
            written=tuple(_written(review, start_s, end_s)),
            step_s=CURVE_STEP_S,
        )
        svg = pitch_row(row, id_prefix=f"pitch-{sheet.name}-{number}", label=label)
        found.append(LineView(svgs=(svg,), points=_shares(line), alt=f"{label}, {len(inside)} notes."))
    return tuple(found)


def _stretches(length_s: float, each_s: float) -> Iterator[tuple[float, float]]:
    for number in range(max(1, ceil(length_s / each_s))):
        yield number * each_s, (number + 1) * each_s


def _steady(start_s: float, end_s: float, left_mm: float, sheet: Sheet) -> TimeLine:
    return TimeLine(points=((start_s, left_mm), (end_s, sheet.width_mm - RIGHT_MM)), width_mm=sheet.width_mm)


def _shares(line: TimeLine) -> tuple[tuple[float, float], ...]:
    """Seconds and per cent of the width."""
    return tuple((second, 100.0 * x / line.width_mm) for second, x in line.points)


def _rules(review: Review, span: tuple[float, float]) -> Iterator[tuple[int, str]]:
    """Every note of the scale as the guitar is tuned."""
    scale = scale_of(review)
    known = {note.pitch_class: note.printed for note in scale.notes}
    shown = known if review.in_bars is not None else {pc: known[pc] for pc in _SHARPS}
    for midi in range(int(span[0]) - 2, int(span[1]) + 14):
        if midi % 12 in shown:
            yield midi, shown[midi % 12]


def _ticks(review: Review, start_s: float, end_s: float) -> Iterator[tuple[float, str]]:
    """Bars by number, or seconds."""
    for second, number in bar_seconds(review):
        if start_s <= second < end_s:
            yield second, str(number)
    if review.in_bars is None:
        for second in range(ceil(start_s), ceil(end_s)):
            yield float(second), f"{second // 60}:{second % 60:02}"


def _written(review: Review, start_s: float, end_s: float) -> Iterator[WrittenSpan]:
    if review.in_bars is None or review.in_bars.written is None:
        return
    clock = review.in_bars.alignment.clock
    for note in review.in_bars.written.notes:
        from_s = clock.seconds_at(note.onset)
        if start_s <= from_s < end_s:
            to_s = min(clock.seconds_at(note.end), end_s)
            yield WrittenSpan(from_s=from_s, to_s=to_s, pitch_midi=note.pitch.midi)


def bar_seconds(review: Review) -> tuple[tuple[float, int], ...]:
    """When each bar begins in the take, with its printed number; none without a lesson."""
    if review.in_bars is None:
        return ()
    alignment = review.in_bars.alignment
    return tuple((alignment.clock.seconds_at(bar.onset), bar.number) for bar in alignment.measures)

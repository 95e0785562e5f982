"""The lines of a report: the sound of a take over what it became, in notation over its bars or in free time.

Every line is drawn in two widths, for sheet and for phone. Over engraved bars the wave is bent to the spacing of the
music; a take without bars runs in even seconds over six lines of tablature.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from phrasewright.app.figures import NARROW_BARS, NARROW_MM, WIDE_MM, SheetWidth
from phrasewright.app.review import InBars, Review
from phrasewright.app.take_score import PlayedScore, played_score
from phrasewright.engrave.report.content import LinesView, LineView
from phrasewright.engrave.systems import System, engrave_score
from phrasewright.engrave.take.played import PlayedMark
from phrasewright.engrave.take.string_row import LEFT_MM as STRINGS_LEFT_MM
from phrasewright.engrave.take.string_row import StringRow, string_row
from phrasewright.engrave.take.wave_row import Envelope, MotifBracket, TimeLine, WaveRow, WrittenPlace, wave_row
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.score.model import Measure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

ENVELOPE_S = 0.005
FREE_S = {SheetWidth.WIDE: 8.0, SheetWidth.NARROW: 4.0}  # of a take without bars on one line
SHEET_MM = {SheetWidth.WIDE: WIDE_MM, SheetWidth.NARROW: NARROW_MM}
_NOTE = re.compile(r'data-note="(\d+)"')


def envelope_of(audio: FloatArray) -> Envelope:
    """How loud a take is. audio: float32 (n,) at ``RATE_HZ``."""
    step = round(ENVELOPE_S * RATE_HZ)
    whole = np.abs(audio[: len(audio) // step * step]).reshape(-1, step).max(axis=1)
    top = float(whole.max(initial=0.0)) or 1.0
    return Envelope(step_s=ENVELOPE_S, peaks=tuple((whole / top).tolist()))


def take_lines(review: Review, marks: Sequence[PlayedMark], envelope: Envelope) -> LinesView:
    """All lines of a take; none where nothing was heard."""
    if not marks:
        return LinesView()
    if review.in_bars is None:
        wide, narrow = (tuple(_free_lines(review, marks, envelope, sheet)) for sheet in SheetWidth)
    else:
        played = played_score(review, review.in_bars)
        wide, narrow = (
            tuple(_bar_lines(review, review.in_bars, played, marks, envelope, sheet)) for sheet in SheetWidth
        )
    return LinesView(wide=wide, narrow=narrow)


def shares(time: TimeLine) -> tuple[tuple[float, float], ...]:
    """A line's points as (second, per cent of its width)."""
    return tuple((second, 100.0 * x / time.width_mm) for second, x in time.points)


def spoken_line(marks: Sequence[PlayedMark], name: str) -> str:
    """A line in words: ``Bars 1 to 4: 7 notes.``"""
    notes = "no note" if not marks else "1 note" if len(marks) == 1 else f"{len(marks)} notes"
    return f"{name}: {notes}."


def _bar_lines(
    review: Review,
    in_bars: InBars,
    played: PlayedScore,
    marks: Sequence[PlayedMark],
    envelope: Envelope,
    sheet: SheetWidth,
) -> Iterator[LineView]:
    engraving = engrave_score(
        played.score,
        id_prefix=f"take-{sheet}-",
        width_mm=SHEET_MM[sheet],
        bars_per_system=NARROW_BARS if sheet is SheetWidth.NARROW else None,
    )
    for system in engraving.systems:
        measures = played.score.measures[system.first_bar - 1 : system.last_bar]
        row = _wave_row(review, in_bars, system, measures, marks)
        name = _bars_words(measures)
        label = f"{name}, the sound"
        wave = wave_row(row, envelope, id_prefix=f"wave-{sheet}-{system.first_bar}-", label=label)
        music = _NOTE.sub(lambda found: f'data-note="{played.numbers[int(found[1])]}"', system.svg)
        yield LineView(
            svgs=(wave, music),
            points=shares(row.time),
            alt=spoken_line([mark for mark, _ in row.marks], name),
        )


def _bars_words(measures: Sequence[Measure]) -> str:
    first, last = measures[0].number, measures[-1].number
    return f"Bar {first}" if first == last else f"Bars {first} to {last}"


def _wave_row(
    review: Review, in_bars: InBars, system: System, measures: Sequence[Measure], marks: Sequence[PlayedMark]
) -> WaveRow:
    clock, start, end = in_bars.alignment.clock, measures[0].onset, measures[-1].end
    points = tuple((clock.seconds_at(time), x) for time, x in system.moments)
    own = [
        (marks[number], system.x_mm(here.at))
        for number, here in enumerate(review.placed)
        if here is not None and start <= here.at < end
    ]
    comparison = in_bars.comparison
    missed = () if comparison is None else (one.written.onset for one in comparison.outcomes if one.heard is None)
    return WaveRow(
        time=TimeLine(points=points, width_mm=system.width_mm),
        marks=tuple(own),
        beats=tuple(_beats(system, measures)),
        motifs=tuple(_motif_brackets(in_bars, start, end)),
        missed=tuple(system.x_mm(onset) for onset in missed if start <= onset < end),
    )


def _beats(system: System, measures: Sequence[Measure]) -> Iterator[WrittenPlace]:
    for measure in measures:
        beat = measure.onset
        while beat < measure.end:
            yield WrittenPlace(x_mm=system.x_mm(beat), is_bar=beat == measure.onset)
            beat += measure.meter.pulse


def _motif_brackets(in_bars: InBars, start: Fraction, end: Fraction) -> Iterator[MotifBracket]:
    """The motifs that begin on a line, from the first note of each to the end of its last."""
    notes = in_bars.alignment.notes
    for sighting in in_bars.spotting.sightings:
        first, last = notes[sighting.first], notes[sighting.last]
        if start <= first.at < end:
            words = ", ".join((f"motif {sighting.letter}", *map(str, sighting.changes)))
            yield MotifBracket(from_s=first.note.onset_s, to_s=last.note.offset_s, label=sighting.letter, words=words)


def _free_lines(
    review: Review, marks: Sequence[PlayedMark], envelope: Envelope, sheet: SheetWidth
) -> Iterator[LineView]:
    width_mm, lasts_s = SHEET_MM[sheet], FREE_S[sheet]
    strings = tuple(pitch.name.printed for pitch in review.played_on.tuning)
    begin_s = 0.0
    while begin_s < review.hearing.length_s:
        end_s = begin_s + lasts_s
        time = TimeLine(points=((begin_s, STRINGS_LEFT_MM), (end_s, width_mm - 1.0)), width_mm=width_mm)
        own = tuple(mark for mark in marks if begin_s <= mark.onset_s < end_s)
        name = f"Seconds {begin_s:.0f} to {end_s:.0f}"
        prefix = f"{sheet}-{begin_s:.0f}-"
        wave = wave_row(
            WaveRow(time=time, marks=tuple((mark, None) for mark in own)),
            envelope,
            id_prefix=f"wave-{prefix}",
            label=f"{name}, the sound",
        )
        seconds = range(int(begin_s), int(end_s) + 1)
        tab = string_row(
            StringRow(time=time, marks=own, strings=strings, seconds=seconds),
            id_prefix=f"strings-{prefix}",
            label=f"{name}, tablature",
        )
        yield LineView(svgs=(wave, tab), points=shares(time), alt=spoken_line(own, name))
        begin_s = end_s


def bar_seconds(in_bars: InBars, measures: Sequence[Measure]) -> tuple[tuple[float, int], ...]:
    """When each bar begins in the take, with its printed number."""
    clock = in_bars.alignment.clock
    return tuple((clock.seconds_at(Fraction(bar.onset)), bar.number) for bar in measures)

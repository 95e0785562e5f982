"""The plots of a report: timing bar by bar, the pitch of every note, the motifs in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil

from phrasewright.app.figures import NARROW_BARS, STRIP_BARS, SheetWidth
from phrasewright.app.review import InBars, Review
from phrasewright.app.take_lines import FREE_S, SHEET_MM, bar_seconds, shares, spoken_line
from phrasewright.engrave.report.content import FigureView, LinesView, LineView
from phrasewright.engrave.take.motif_strip import MotifCard, motif_strip
from phrasewright.engrave.take.pitch_rows import LEFT_MM, PitchRow, WrittenSpan, pitch_row
from phrasewright.engrave.take.played import PlayedMark
from phrasewright.engrave.take.timing_plot import TimedBar, timing_plot
from phrasewright.engrave.take.wave_row import TimeLine
from phrasewright.listen.align.compare import SOLOISTS_S
from phrasewright.listen.heard import CURVE_STEP_S
from phrasewright.score.model import Measure

TIMING_BARS = {SheetWidth.WIDE: 12, SheetWidth.NARROW: 4}
SHEET_LINES, SHEET_MOST_BARS = 2, 32  # of the timing of a printed sheet, and bars on a line
SHEET_MOTIF_BARS, SHEET_MOTIF_LINES = 8, 2
PITCH_BARS = {SheetWidth.WIDE: STRIP_BARS, SheetWidth.NARROW: NARROW_BARS}
MEANT_S = 1e-6  # more than rounding takes away
NATURALS = ((0, "C"), (5, "F"))  # rules where no scale is known


def played_bars(in_bars: InBars) -> tuple[Measure, ...]:
    """The bars from the first to the last with a note; the first alone where there is none."""
    bars = {note.bar for note in in_bars.alignment.notes}
    measures = in_bars.alignment.measures
    inside = [measure for measure in measures if bars and min(bars) <= measure.number <= max(bars)]
    return tuple(inside) or measures[:1]


def timing_figure(review: Review, in_bars: InBars, marks: Sequence[PlayedMark]) -> FigureView:
    """How early or late each note came, bar by bar."""
    bars = tuple(_timed_bars(review, in_bars, marks))

    def drawn(first: int, sheet: SheetWidth, bars_per_line: int, name: str) -> str:
        return timing_plot(
            bars[:first],
            band_ms=1000.0 * SOLOISTS_S,
            width_mm=SHEET_MM[sheet],
            bars_per_line=bars_per_line,
            id_prefix=f"timing-{name}-",
            label="How early or late each note came",
        )

    sheet_bars = min(max(ceil(len(bars) / SHEET_LINES), TIMING_BARS[SheetWidth.WIDE]), SHEET_MOST_BARS)
    alt = "How early or late each note came, bar by bar."
    return _in_all_widths(drawn, len(bars), TIMING_BARS, (SHEET_LINES, sheet_bars), alt)


def _in_all_widths(
    drawn: Callable[[int, SheetWidth, int, str], str],
    bars: int,
    per_line: Mapping[SheetWidth, int],
    sheet: tuple[int, int],
    alt: str,
) -> FigureView:
    """A figure of bars in every width. drawn: of so many first bars, at a width, so many a line; sheet: lines, bars."""
    lines, sheet_bars = sheet
    return FigureView(
        wide=drawn(bars, SheetWidth.WIDE, per_line[SheetWidth.WIDE], "wide"),
        narrow=drawn(bars, SheetWidth.NARROW, per_line[SheetWidth.NARROW], "narrow"),
        sheet=drawn(lines * sheet_bars, SheetWidth.WIDE, sheet_bars, "sheet"),
        alt=alt,
    )


def _timed_bars(review: Review, in_bars: InBars, marks: Sequence[PlayedMark]) -> Iterator[TimedBar]:
    middles_ms = {bar.bar: 1000.0 * bar.deviation_s for bar in in_bars.bar_timing}
    for measure in played_bars(in_bars):
        inside = [(number, here) for number, here in enumerate(review.placed) if here and here.bar == measure.number]
        yield TimedBar(
            number=measure.number,
            notes=tuple((marks[at], float((here.at - measure.onset) / measure.meter.bar)) for at, here in inside),
            middle_ms=middles_ms.get(measure.number),
        )


def motifs_figure(review: Review, in_bars: InBars) -> FigureView | None:
    """The motifs in order; None where none was looked for or heard."""
    bars = played_bars(in_bars)
    cards = sorted(_cards(review, in_bars, bars), key=lambda card: card.from_bars)
    if not cards:
        return None

    def drawn(first: int, sheet: SheetWidth, bars_per_line: int, name: str) -> str:
        return motif_strip(
            cards,
            [bar.number for bar in bars[:first]],
            width_mm=SHEET_MM[sheet],
            bars_per_line=bars_per_line,
            id_prefix=f"motifs-{name}-",
            label="Motifs in order",
        )

    alt = "Motifs in order: " + ", ".join(card.label for card in cards) + "."
    return _in_all_widths(drawn, len(bars), PITCH_BARS, (SHEET_MOTIF_LINES, SHEET_MOTIF_BARS), alt)


def _cards(review: Review, in_bars: InBars, bars: Sequence[Measure]) -> Iterator[MotifCard]:
    notes, numbers, spotting = in_bars.alignment.notes, review.numbers, in_bars.spotting
    for sighting in spotting.sightings:
        yield MotifCard(
            label=sighting.letter,
            change=", ".join(map(str, sighting.changes)),
            from_bars=_in_bars(notes[sighting.first].at, bars),
            to_bars=_in_bars(notes[sighting.last].at, bars),
            number=numbers[sighting.first],
        )
    for name, own in enumerate(spotting.own, start=1):
        for place in own.places:
            last = min(place + len(own.intervals), len(notes) - 1)
            yield MotifCard(
                label=str(name),
                change="",
                from_bars=_in_bars(notes[place].at, bars),
                to_bars=_in_bars(notes[last].at, bars),
                number=numbers[place],
                is_own=True,
            )


def _in_bars(time: Fraction, bars: Sequence[Measure]) -> float:
    """Bars since the first one shown."""
    at = next((at for at in reversed(range(len(bars))) if bars[at].onset <= time), 0)
    return at + max(float((time - bars[at].onset) / bars[at].meter.bar), 0.0)


def pitch_lines(review: Review, marks: Sequence[PlayedMark]) -> LinesView:
    """The pitch of every note in time, over the bars, or over seconds where there are none."""
    sounding = [mark.pitch_midi for mark in marks if not mark.is_dead]
    if not sounding:
        return LinesView()
    span = (min(sounding), max(sounding))
    wide, narrow = (tuple(_pitch_lines(review, marks, span, sheet)) for sheet in SheetWidth)
    return LinesView(wide=wide, narrow=narrow)


def _pitch_lines(
    review: Review, marks: Sequence[PlayedMark], span_midi: tuple[float, float], sheet: SheetWidth
) -> Iterator[LineView]:
    width_mm, rules, written = SHEET_MM[sheet], _rules(review), _written(review)
    for begin_s, end_s, ticks, name in _stretches(review, sheet):
        time = TimeLine(points=((begin_s, LEFT_MM), (end_s, width_mm - 1.0)), width_mm=width_mm)
        own = tuple(mark for mark in marks if begin_s <= _meant_s(review, mark) < end_s)
        row = PitchRow(
            time=time,
            marks=own,
            rules=rules,
            span_midi=span_midi,
            ticks=ticks,
            written=tuple(one for one in written if begin_s <= one.from_s < end_s),
            step_s=CURVE_STEP_S,
        )
        svg = pitch_row(row, id_prefix=f"pitch-{sheet}-{len(name)}-{begin_s:.2f}-".replace(".", "-"), label=name)
        yield LineView(svgs=(svg,), points=shares(time), alt=spoken_line(own, f"{name}, pitch"))


def _meant_s(review: Review, mark: PlayedMark) -> float:
    """When a note was meant to come: one that is early for a line's first beat belongs to that line."""
    here = review.placed[mark.number] if review.placed else None
    return mark.onset_s if here is None else here.note.onset_s - here.deviation_s + MEANT_S


def _stretches(review: Review, sheet: SheetWidth) -> Iterator[tuple[float, float, tuple[tuple[float, str], ...], str]]:
    """(begin, end, ticks, name) of each line."""
    if review.in_bars is None:
        begin_s, lasts_s = 0.0, FREE_S[sheet]
        while begin_s < review.hearing.length_s:
            ticks = tuple((float(second), f"{second} s") for second in range(int(begin_s), int(begin_s + lasts_s)))
            yield begin_s, begin_s + lasts_s, ticks, f"Seconds {begin_s:.0f} to {begin_s + lasts_s:.0f}"
            begin_s += lasts_s
        return
    clock, bars, each = review.in_bars.alignment.clock, played_bars(review.in_bars), PITCH_BARS[sheet]
    for at in range(0, len(bars), each):
        row = bars[at : at + each]
        ends = row[0].onset + each * row[0].meter.bar  # a short last line leaves paper at its right
        ticks = tuple((second, str(number)) for second, number in bar_seconds(review.in_bars, row))
        name = f"Bars {row[0].number} to {row[-1].number}"
        yield clock.seconds_at(row[0].onset), clock.seconds_at(max(ends, row[-1].end)), ticks, name


def _rules(review: Review) -> tuple[tuple[int, str], ...]:
    if review.in_bars is None:
        return tuple((12 * octave + pitch, f"{name}{octave - 1}") for octave in range(1, 9) for pitch, name in NATURALS)
    names = {name.pitch_class: name.printed for name in review.in_bars.assignment.plan.lesson.scale.notes}
    return tuple((midi, names[midi % 12]) for midi in range(21, 109) if midi % 12 in names)


def _written(review: Review) -> tuple[WrittenSpan, ...]:
    if review.in_bars is None or review.in_bars.written is None:
        return ()
    clock = review.in_bars.alignment.clock
    return tuple(
        WrittenSpan(from_s=clock.seconds_at(note.onset), to_s=clock.seconds_at(note.end), pitch_midi=note.pitch.midi)
        for note in review.in_bars.written.notes
    )
